// A server of its own, a browser, and phones to look at it with.
import { spawn } from "node:child_process";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { chromium } from "playwright-core";

const require = createRequire(import.meta.url);
const AXE = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");
export const PROGRAM = process.env.MUSTER_PROGRAM ?? new URL("../target/debug/muster", import.meta.url).pathname;
// Where the demonstration's story is kept from one server to the next.
const TOLD = process.env.MUSTER_TOLD;
const BROWSER = process.env.MUSTER_BROWSER ?? "/usr/bin/chromium";
const ARGUMENTS = [
  "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
  "--disable-component-update", "--disable-sync", "--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream",
];

/** Starts `muster serve` with what is given and waits till it says where it is. */
export async function serve(...given) {
  const listen = given.includes("--listen") ? [] : ["--listen", "127.0.0.1:0"];
  const told = TOLD && !given.includes("--record") ? ["--told", TOLD] : [];
  const child = spawn(PROGRAM, ["serve", ...listen, ...told, ...given], {
    env: { ...process.env, MUSTER_LOG: "error" },
    stdio: ["ignore", "pipe", "pipe"],
  });
  let said = "";
  child.stderr.on("data", (text) => (said += text));
  const address = await new Promise((found, failed) => {
    child.stdout.on("data", (text) => {
      const line = /https?:\/\/\S+/.exec(text);
      if (line) found(line[0].replace(/\/$/, ""));
    });
    child.on("exit", (code) => failed(new Error(`the server ended with ${code}: ${said}`)));
  });
  const stop = (signal = "SIGTERM") =>
    new Promise((gone) => {
      if (child.exitCode !== null) return gone();
      child.removeAllListeners("exit");
      child.on("exit", gone);
      child.kill(signal);
    });
  return { address, stop, said: () => said };
}

export function browse(more = []) {
  return chromium.launch({ executablePath: BROWSER, args: [...ARGUMENTS, ...more] });
}

/** A phone of its own, with what went wrong on it noted. */
export async function phone(browser, address, options = {}) {
  return look(browser, address, { viewport: { width: 390, height: 844 }, isMobile: true, hasTouch: true, ...options });
}

/** A desk. */
export async function desk(browser, address, options = {}) {
  return look(browser, address, { viewport: { width: 1400, height: 900 }, ...options });
}

async function look(browser, address, options) {
  const context = await browser.newContext({ baseURL: address, locale: "en-GB", timezoneId: "Europe/London", ...options });
  const page = await context.newPage();
  page.faults = [];
  page.on("pageerror", (error) => page.faults.push(String(error)));
  page.on("console", (message) => {
    // Without signal the browser itself says what it could not fetch.
    if (message.type() === "error" && !/Failed to load resource|net::ERR/.test(message.text())) page.faults.push(message.text());
  });
  return page;
}

/** Waits till the worker keeps the app, so that signal may go. */
export async function kept(page) {
  await page.waitForFunction(async () => {
    const registration = await navigator.serviceWorker.ready;
    return registration.active?.state === "activated" && (navigator.serviceWorker.controller || (location.reload(), false));
  });
}

/** What axe finds, as lines; nothing is what is wanted. */
export async function axe(page) {
  await page.evaluate(AXE);
  const tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
  const { violations } = await page.evaluate((tags) => axe.run(document, { runOnly: tags }), tags);
  return violations.flatMap(({ id, nodes }) => nodes.map((node) => `${id}: ${node.html.slice(0, 160)} ${node.any.map((of) => of.message).join("; ")}`));
}

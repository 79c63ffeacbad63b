// Pictures of screens, to be looked at: node shots.mjs FOLDER [/path …]; without paths those that need nothing done before.
import { mkdirSync } from "node:fs";
import { browse, desk, phone, serve } from "./yard.mjs";

const [folder = "../target/shots", ...paths] = process.argv.slice(2);
mkdirSync(folder, { recursive: true });
const server = await serve();
const browser = await browse();
for (const path of paths.length ? paths : ["/", "/machines/H-07"]) {
  const name = path === "/" ? "yard" : path.slice(1).replaceAll("/", "-");
  for (const [kind, make, options] of [
    ["phone", phone, {}],
    ["dusk", phone, { colorScheme: "dark" }],
    ["narrow", phone, { viewport: { width: 320, height: 640 } }],
    ["desk", desk, {}],
    ["desk-dusk", desk, { colorScheme: "dark" }],
  ]) {
    const page = await make(browser, server.address, options);
    await page.goto(path);
    // What is carried is there when the server was asked and nothing waits.
    const waits = /Asking|Fetching|No such machine|Nothing is known/;
    await page
      .waitForFunction((waits) => document.querySelector("main")?.innerText && !new RegExp(waits).test(document.body.innerText), waits.source, { timeout: 30_000 })
      .catch(() => console.log(`${path} ${kind}: still waits`));
    await page.waitForTimeout(300);
    await page.screenshot({ path: `${folder}/${name}-${kind}.png` });
    if (page.faults.length) console.log(`${name} ${kind}:`, page.faults);
    await page.context().close();
  }
}
await browser.close();
await server.stop();

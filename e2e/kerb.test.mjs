// At the kerb: a round of pressures, a fall and its look, a return with damage, a session, a code typed.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { axe, browse, phone, serve } from "./yard.mjs";

let server, browser, page;

before(async () => {
  server = process.env.MUSTER_ADDRESS ? { address: process.env.MUSTER_ADDRESS, stop() {} } : await serve();
  browser = await browse();
  page = await phone(browser, server.address);
  await page.goto("/round");
  await page.getByRole("link", { name: /Tyre pressure/ }).waitFor({ timeout: 240_000 });
});

after(async () => {
  await browser?.close();
  await server?.stop();
});

const clean = async () => assert.deepEqual(await axe(page), []);
const press = (name) => page.getByRole("button", { name, exact: true }).click();
const type = async (figure) => {
  const pad = page.getByRole("group", { name: "Keypad" });
  for (const sign of figure) await pad.getByRole("button", { name: sign, exact: true }).click();
};

test("a machine is found by its number where there is no code to read", async () => {
  await page.goto("/scan");
  const number = page.getByLabel("or its number");
  await number.waitFor({ timeout: 60_000 });
  await page.waitForFunction(() => document.querySelector("video")?.readyState > 1);
  await clean();
  await number.fill("H-99");
  await press("Find it");
  await page.getByRole("alert").filter({ hasText: "No machine of this yard: H-99" }).waitFor();
  await number.fill("h7");
  await press("Find it");
  await number.fill("h07");
  await press("Find it");
  await page.waitForURL(/\/machines\/H-07$/);
  assert.deepEqual(page.faults, []);
});

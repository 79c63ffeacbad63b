// At dusk: the screens most looked at, in the dark colours, contrast and all.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { goTo, walk } from "./acts.mjs";
import { axe, browse, desk, phone, serve } from "./yard.mjs";

let server, browser;

before(async () => {
  server = await serve();
  browser = await browse();
});

after(async () => {
  await browser?.close();
  await server?.stop();
});

/** Dark paper under light ink, and nothing that axe finds. */
async function well(page) {
  const [paper, ink] = await page.evaluate(() => {
    const light = (of) => of.match(/[\d.]+/g).slice(0, 3).reduce((sum, part) => sum + Number(part), 0);
    const style = getComputedStyle(document.body);
    return [light(style.backgroundColor), light(style.color)];
  });
  assert.ok(paper < 150 && ink > 600, `paper ${paper}, ink ${ink}`);
  assert.deepEqual(await axe(page), []);
  assert.deepEqual(page.faults, []);
}

test("yard, walk-round, finding and verdict are read at dusk", async () => {
  const page = await phone(browser, server.address, { colorScheme: "dark" });
  await page.goto("/");
  await page.getByRole("heading", { name: "Must not go out" }).waitFor({ timeout: 60_000 });
  await well(page);
  await walk(page, "H-09");
  await well(page);
  await goTo(page, async () => (await page.locator(".readout:visible").count()) > 0);
  await well(page);
  await goTo(page, async () => (await page.locator(".choices:visible").count()) > 0);
  await well(page);
  await page.getByRole("button", { name: /^Defective/ }).click();
  await page.getByRole("heading", { name: /^Finding/ }).waitFor();
  await well(page);
  for (const machine of ["H-08", "H-15"]) {
    await page.goto(`/machines/${machine}/summary`);
    await page.locator(".plate").waitFor();
    await well(page);
  }
  await page.context().close();
});

test("so are the desk's yard and a machine", async () => {
  const page = await desk(browser, server.address, { colorScheme: "dark" });
  await page.goto("/");
  await page.locator("tr.row").nth(23).waitFor({ timeout: 60_000 });
  await page.waitForFunction(() => !document.querySelector(".counted")?.textContent);
  await well(page);
  await page.goto("/machines/H-07");
  await page.getByRole("region", { name: "Sheet of H-07" }).waitFor();
  await well(page);
  await page.context().close();
});

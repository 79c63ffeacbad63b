// What runs out first, what to order, the fan under a reading, and a reading nobody expected.
import { test, before, after } from "node:test";
import assert from "node:assert/strict";
import { axe, browse, desk, phone, serve } from "./yard.mjs";

// In a debug build the server tells its story and folds it first.
const PATIENT = { timeout: 180_000 };
let server, browser, page;

before(async () => {
  server = await serve();
  browser = await browse();
  page = await desk(browser, server.address);
  await page.goto("/");
  await page.locator("tr.row").nth(23).waitFor(PATIENT);
  await page.waitForFunction(() => !document.querySelector(".counted")?.textContent, undefined, PATIENT);
});

after(async () => {
  await browser?.close();
  await server?.stop();
});

const ids = () => page.locator("tr.row th a").allTextContents();

test("the yard is sorted by what runs out first", async () => {
  const before = await ids();
  await page.getByRole("button", { name: "Or wear: what runs out first" }).click();
  await page.locator("tr.row", { hasText: "24 Nov: Front brake pads" }).waitFor(PATIENT);
  await page.waitForFunction(() => document.querySelector("tr.row th a")?.textContent === "H-08", undefined, PATIENT);
  const sorted = await ids();
  assert.deepEqual([...sorted].sort(), [...before].sort());
  // H-08's front pads were read past their limit; H-14's rear tread is too close to call.
  assert.deepEqual(sorted.slice(0, 2), ["H-08", "H-14"]);
  assert.deepEqual(await axe(page), []);
  await page.getByRole("button", { name: "Or wear: what runs out first" }).click();
  await page.waitForFunction(() => document.querySelector("tr.row th a")?.textContent === "H-01");
});

test("the wear page says what to order, and how likely", async () => {
  await page.getByRole("link", { name: "Wear" }).first().click();
  const order = page.getByRole("region", { name: "What to order for the next 8 weeks" });
  await order.waitFor(PATIENT);
  const tyre = order.locator("tr", { hasText: "Rear tyre" });
  assert.match((await tyre.innerText()).replace(/\s+/g, " "), /^Rear tyre 1\.0 H-14 (> 99|9\d|100) %/);
  const first = page.getByRole("region", { name: "What runs out first" });
  assert.match((await first.locator("tbody tr").first().innerText()).replace(/\s+/g, " "), /^H-08 Front brake pads past Past its limit now: read so on 2\d Nov/);
  const few = await first.locator("tbody tr").count();
  await page.getByRole("button", { name: "26 weeks" }).click();
  await page.getByRole("region", { name: "What to order for the next 26 weeks" }).waitFor(PATIENT);
  assert.ok((await first.locator("tbody tr").count()) >= few, "farther ahead more is told");
  assert.deepEqual(await axe(page), []);
});

test("a reading's ruler fans out to its limit, with distance and day in words", async () => {
  await page.goto("/machines/H-07");
  const pads = page.getByRole("region", { name: "Rear brake pads" });
  await pads.getByText(/Limit met in .*km \(.* to .*\): about .* \(.* to .*\)/).waitFor(PATIENT);
  assert.equal(await pads.locator(".r-fan0").count(), 1);
  assert.match(await pads.locator("svg.ruler").getAttribute("aria-label"), /Limit met in .*km/);
  assert.deepEqual(await axe(page), []);
  assert.deepEqual(page.faults, []);
});

test("a reading nobody expected asks for a second one on the spot", async () => {
  const small = await phone(browser, server.address);
  await small.goto("/machines/H-08");
  await small.getByText(/Read it a second time on the spot/).first().waitFor(PATIENT);
  await small.goto("/wear");
  await small.getByRole("heading", { name: "What runs out first" }).waitFor(PATIENT);
  assert.ok((await small.evaluate(() => document.documentElement.scrollWidth)) <= 390, "nothing lies beside the screen");
  assert.deepEqual(await axe(small), []);
  assert.deepEqual(small.faults, []);
});

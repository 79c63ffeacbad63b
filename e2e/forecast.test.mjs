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
  assert.match((await tyre.innerText()).replace(/\s+/g, " "), /^Rear tyre 2\.0 H-13 100 % H-14 (> 99|9\d|100) %/);
  const first = page.getByRole("region", { name: "What runs out first" });
  assert.match((await first.locator("tbody tr").first().innerText()).replace(/\s+/g, " "), /^H-08 Front brake pads past Past its limit now: read so on 2\d Nov/);
  // H-13's rear tyre is good for tread, and past the years its house rule gives it.
  const falls = page.getByRole("region", { name: "Due by age or distance" });
  assert.match((await falls.locator("tbody tr").first().innerText()).replace(/\s+/g, " "), /^H-13 Rear tyre, its age due Past its age since .*Counted from/);
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
  // What a tyre loses is told from its whole record.
  const air = page.getByRole("region", { name: "Rear tyre pressure" });
  await air.getByText(/Loses \d\.\d.kPa a week \(\d\.\d to \d\.\d\); low limit \d+.kPa for road met on/).waitFor(PATIENT);
  assert.deepEqual(await axe(page), []);
  assert.deepEqual(page.faults, []);
});

test("a reading nobody expected is typed, and the walk-round stays for a second one", async () => {
  const small = await phone(browser, server.address);
  await small.goto("/machines/H-07/walk");
  await small.getByText("No hold tag on the bar").click(PATIENT);
  await small.getByText("Key on its hook").click();
  // A tread's answer counts for a distance: without the odometer it would count for nothing.
  await small.getByRole("button", { name: /It still shows/ }).click();
  await small.getByLabel("Depth").selectOption({ label: "full" });
  await small.getByRole("button", { name: /^Begin/ }).click();
  await small.waitForURL(/\/walk\/.+\/.+/);
  await small.getByRole("button", { name: "All checks", exact: true }).click();
  await small.getByRole("button", { name: /Rear tread depth/ }).click();
  const here = small.getByRole("heading", { level: 1, name: "Rear tread depth" });
  await here.waitFor();
  // More tread than it had: less wear than can be.
  const read = async (figure) => {
    const places = await small.locator(".readout").count();
    for (let place = 1; place <= places; place += 1) {
      for (const key of figure) await small.locator(".pad").getByRole("button", { name: key === "." ? "decimal sign" : key, exact: true }).click();
      await small.locator(".leg:not([hidden]) .foot .btn--lg").click();
    }
  };
  await read("7.4");
  await small.getByText(/Read it a second time on the spot/).first().waitFor();
  await here.waitFor();
  assert.deepEqual(await axe(small), []);
  await read("7.4");
  await here.waitFor({ state: "hidden" });
  assert.deepEqual(small.faults, []);
  await small.context().close();
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

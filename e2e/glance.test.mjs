// The yard before this app can judge: as it was judged last, if it is still so, else by its machines' names alone; never a
// verdict of another state. And without signal all of it starts from what the browser keeps.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { openJob, sent } from "./acts.mjs";
import { axe, browse, kept, phone, serve } from "./yard.mjs";

let server, browser;
before(async () => {
  server = await serve();
  browser = await browse();
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

const row = (page, id) => page.locator(".ylines li", { has: page.locator(".no", { hasText: new RegExp(`^${id}$`) }) });
const judged = (page) => page.getByRole("heading", { name: "Must not go out" }).waitFor({ timeout: 120_000 });

/** Waits till what the yard was judged to be is on the disk; the heads it was made of. */
async function noted(page) {
  const heads = () => page.evaluate(() => new Promise((found) => {
    const asked = indexedDB.open("muster");
    asked.onsuccess = () => {
      const got = asked.result.transaction("misc").objectStore("misc").get("glances");
      got.onsuccess = () => { asked.result.close(); found(got.result ? JSON.stringify(JSON.parse(got.result.glances).heads) : null); };
    };
  }));
  for (;;) {
    const now = await heads();
    if (now) return now;
    await page.waitForTimeout(200);
  }
}

/** What went wrong, but for the worker: one that is blocked here registers as nothing. */
const faults = (page) => page.faults.filter((fault) => !/reading 'waiting'/.test(fault));

/** A phone without a worker, whose part that judges comes only when it is let through. */
async function held() {
  const page = await phone(browser, server.address, { serviceWorkers: "block" });
  let held = [];
  page.isHeld = false;
  await page.route("**/judge.bin", (route) => (page.isHeld ? held.push(route) : route.continue()));
  page.letThrough = async () => {
    page.isHeld = false;
    await Promise.all(held.map((route) => route.continue()));
    held = [];
  };
  await page.goto("/");
  await judged(page);
  await noted(page);
  return page;
}

test("on the second visit the yard starts without signal, and a machine is judged", async () => {
  const page = await phone(browser, server.address);
  await page.goto("/");
  await judged(page);
  await noted(page);
  const says = await row(page, "H-08").innerText();
  await kept(page);
  await page.context().setOffline(true);
  await page.goto("/");
  await judged(page);
  assert.equal(await row(page, "H-08").innerText(), says);
  await row(page, "H-08").getByRole("link").tap();
  await page.getByRole("heading", { level: 1 }).first().waitFor();
  await page.getByText("Front brake pads").first().waitFor({ timeout: 60_000 });
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

test("before it can judge, the yard is shown as it was judged a moment ago", async () => {
  const page = await held();
  const says = await row(page, "H-08").innerText();
  page.isHeld = true;
  await page.goto("/");
  await judged(page);
  assert.equal(await row(page, "H-08").innerText(), says);
  assert.deepEqual(await axe(page), []);
  await page.letThrough();
  await row(page, "H-08").getByRole("link").tap();
  await page.getByText("Front brake pads").first().waitFor({ timeout: 60_000 });
  assert.deepEqual(faults(page), []);
  await page.context().close();
});

test("what was written since is another state: machines are named, none has a verdict till it is judged", async () => {
  const page = await held();
  await page.goto("/machines/H-15");
  await page.locator("#jobs").waitFor({ timeout: 60_000 });
  await openJob(page, "written after the yard was judged");
  await page.locator("#jobs article", { hasText: "written after the yard was judged" }).waitFor({ timeout: 60_000 });
  await sent(page);
  page.isHeld = true;
  await page.goto("/");
  await row(page, "H-15").getByText("not judged yet").waitFor({ timeout: 60_000 });
  assert.equal(await page.locator(".ylines .verdict:not(.unseen)").count(), 0);
  assert.match(await row(page, "H-15").innerText(), /Tamarack Drover/);
  assert.deepEqual(await axe(page), []);
  await page.letThrough();
  await judged(page);
  assert.deepEqual(faults(page), []);
  await page.context().close();
});

test("what was judged too long ago is not shown as now", async () => {
  const page = await held();
  await page.addInitScript(() => {
    const now = Date.now;
    Date.now = () => now() + 6 * 60_000;
  });
  page.isHeld = true;
  // The server would say what the clock is.
  await page.route("**/api/v1/me", (route) => route.abort());
  await page.goto("/");
  await row(page, "H-08").getByText("not judged yet").waitFor({ timeout: 60_000 });
  assert.equal(await page.locator(".ylines .verdict:not(.unseen)").count(), 0);
  await page.context().close();
});

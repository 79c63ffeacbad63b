// What the browser keeps, and what becomes of it: no room, thrown away, two tabs, a server that is gone, another catalogue.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { openJob, sent } from "./acts.mjs";
import { school } from "./school.mjs";
import { axe, browse, desk, kept } from "./yard.mjs";

let yard, browser;

before(async () => {
  yard = await school();
  browser = await browse();
});

after(async () => {
  await browser?.close();
  await yard?.stop();
});

/** A desk that is signed in, keeps the app and stands at a machine. */
async function at(machine, context) {
  const page = context ? await context.newPage() : await desk(browser, yard.address);
  page.faults ??= [];
  if (!context) await yard.signIn(page);
  await page.addInitScript(mayBeFull);
  await page.goto(`/machines/${machine}`);
  await page.locator("#jobs").waitFor({ timeout: 60_000 });
  await page.waitForFunction(() => !/Asking/.test(document.querySelector(".state")?.textContent ?? ""));
  return page;
}

/** A full disk, as Chromium has it: the transaction is given up at its end. Its own quota cannot be set from outside here. */
function mayBeFull() {
  const commit = IDBTransaction.prototype.commit;
  IDBTransaction.prototype.commit = function () {
    return globalThis.isFull && this.mode === "readwrite" ? this.abort() : commit.call(this);
  };
}

const job = (page, why) => page.locator("#jobs article", { hasText: why });
const origin = (page) => new URL(page.url()).origin;

/** What the server has of a machine's jobs. */
async function there(page, why) {
  const fresh = await at(new URL(page.url()).pathname.split("/").pop());
  await job(fresh, why).waitFor({ timeout: 30_000 });
  await fresh.context().close();
}

test("without room nothing is said to be done, and with room again it goes on", async () => {
  const page = await at("H-01");
  await openJob(page, "before the storage was full");
  await job(page, "before the storage was full").waitFor();
  await sent(page);
  await page.evaluate(() => (globalThis.isFull = true));
  await openJob(page, "no room for this");
  await page.locator("#jobs").getByRole("alert").filter({ hasText: "Not kept on this device, so not done" }).waitFor();
  await page.locator(".state", { hasText: "Not everything can be kept here" }).waitFor();
  assert.equal(await job(page, "no room for this").count(), 0);
  assert.deepEqual(await axe(page), []);
  await page.evaluate(() => (globalThis.isFull = false));
  await page.locator("#jobs").getByRole("button", { name: "Open a job" }).click();
  await job(page, "no room for this").waitFor();
  await sent(page);
  await there(page, "no room for this");
  await page.context().close();
});

test("what the browser throws away under an open page is kept again, and sent", async () => {
  const page = await at("H-02");
  await kept(page);
  await page.locator("#jobs").waitFor();
  await page.context().setOffline(true);
  await openJob(page, "written before it was thrown away");
  await job(page, "written before it was thrown away").waitFor();
  const devtools = await page.context().newCDPSession(page);
  await devtools.send("Storage.clearDataForOrigin", { origin: origin(page), storageTypes: "indexeddb" });
  await openJob(page, "written after");
  await job(page, "written after").waitFor();
  await page.getByText("What was not sent is kept again").waitFor();
  await page.context().setOffline(false);
  await sent(page);
  await there(page, "written before it was thrown away");
  await there(page, "written after");
  await page.context().close();
});

test("what it throws away between two visits is told, with what was lost by it", async () => {
  const page = await at("H-03");
  await kept(page);
  await page.locator("#jobs").waitFor();
  await page.context().setOffline(true);
  await openJob(page, "gone with the storage");
  await page.getByText("1 record not sent").waitFor();
  const elsewhere = origin(page);
  const devtools = await page.context().newCDPSession(page);
  await page.goto("about:blank");
  await devtools.send("Storage.clearDataForOrigin", { origin: elsewhere, storageTypes: "indexeddb" });
  await page.context().setOffline(false);
  await page.goto("/machines/H-03");
  await page.getByText("This browser threw away what it held, with 1 record that was not sent").waitFor({ timeout: 30_000 });
  assert.deepEqual(await axe(page), []);
  // It writes again, as a device of its own.
  await openJob(page, "written again");
  await job(page, "written again").waitFor();
  await page.getByText("This browser threw away what it held").waitFor({ state: "detached" });
  await page.context().close();
});

test("of two tabs one writes: the other says so, and takes over when the first is closed", async () => {
  const first = await at("H-04");
  const second = await at("H-04", first.context());
  await second.getByText("Open in another tab: this one looks, that one writes").waitFor();
  assert.deepEqual(await axe(second), []);
  await openJob(second, "by the second tab");
  await second.locator("#jobs").getByRole("alert").filter({ hasText: "Muster is open in another tab" }).waitFor();
  // What the first writes the second sees.
  await openJob(first, "by the first tab");
  await job(second, "by the first tab").waitFor({ timeout: 30_000 });
  await sent(first);
  await first.close();
  await second.getByText("Open in another tab: this one looks").waitFor({ state: "detached" });
  await openJob(second, "by the second, alone");
  await job(second, "by the second, alone").waitFor();
  await sent(second);
  await second.context().close();
});

test("a server that is killed is not missed: the page goes on from its disk and sends when it is back", async () => {
  const page = await at("H-05");
  await kept(page);
  await page.locator("#jobs").waitFor();
  await yard.kill();
  await page.reload();
  await page.locator("#jobs").waitFor({ timeout: 30_000 });
  await page.getByText("No signal", { exact: true }).waitFor({ timeout: 30_000 });
  await openJob(page, "while the server was gone");
  await job(page, "while the server was gone").waitFor();
  await page.getByText("1 record not sent").waitFor();
  await page.reload();
  await job(page, "while the server was gone").waitFor({ timeout: 30_000 });
  await yard.again();
  await page.evaluate(() => dispatchEvent(new Event("online")));
  await sent(page);
  await there(page, "while the server was gone");
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

test("a server that judges by another catalogue is said, and a newer app is looked for", async () => {
  const page = await desk(browser, yard.address);
  await yard.signIn(page);
  await page.route("**/api/v1/sync/carried", async (route) => {
    const answer = await route.fetch();
    await route.fulfill({ response: answer, json: { ...(await answer.json()), catalogue: "0".repeat(64) } });
  });
  await page.goto("/");
  await page.getByText("The server judges by another catalogue").waitFor({ timeout: 60_000 });
  assert.deepEqual(await axe(page), []);
  await page.context().close();
});

// What each may do, and sees: what is not theirs is not offered, or says why. A lost phone. PINs.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { openJob, press, sent, walk } from "./acts.mjs";
import { school } from "./school.mjs";
import { axe, browse, desk, kept, phone } from "./yard.mjs";

let yard, browser;

before(async () => {
  yard = await school();
  browser = await browse();
  for (const [name, role] of [["Rob Rider", "rider"], ["Ida Instructor", "instructor"], ["Ada Auditor", "auditor"]]) await yard.add(name, role);
});

after(async () => {
  await browser?.close();
  await yard?.stop();
});

async function as(name, path, look = phone) {
  const page = await look(browser, yard.address);
  await yard.signIn(page, name);
  await page.goto(path);
  return page;
}

const clean = async (page) => {
  assert.deepEqual(await axe(page), []);
  assert.deepEqual(page.faults, []);
};

test("a rider carries no record, and is told where to say what they noticed", async () => {
  const page = await as("Rob Rider", "/");
  await page.getByText(/Riders carry no record\. Say what you noticed by the code on the machine/).waitFor();
  await clean(page);
  await page.goto("/machines/H-01");
  await page.getByText(/Riders carry no record/).waitFor();
  await clean(page);
  const answer = await page.request.get("/api/v1/sync/carried");
  assert.equal(answer.status(), 403);
  await page.context().close();
});

test("an auditor sees everything and is offered nothing to write", async () => {
  const page = await as("Ada Auditor", "/machines/H-01", desk);
  await page.getByRole("region", { name: "Sheet of H-01" }).waitFor({ timeout: 60_000 });
  for (const name of ["Hang hold tag", "Open a job", "Impound", "Change it"]) assert.equal(await page.locator("summary", { hasText: name }).count(), 0, name);
  for (const name of [/walk-round/i, "Note a fall"]) assert.equal(await page.getByRole("main").getByRole("link", { name }).count(), 0, String(name));
  await clean(page);
  await page.getByRole("link", { name: "Records" }).first().click();
  await page.getByRole("heading", { level: 1, name: "Records" }).waitFor();
  await page.goto("/machines/H-01/summary");
  await page.locator(".plate").waitFor();
  assert.equal(await page.getByRole("button", { name: "Hang hold tag" }).count(), 0);
  await clean(page);
  // An address that is typed leads to a refusal in words.
  await page.goto("/machines/H-01/walk");
  await page.getByText("No hold tag on the bar").click();
  await page.getByRole("button", { name: /^Begin/ }).click();
  await page.getByText(/auditor may not write `walk-round-opened`: ask somebody who may/).waitFor();
  await page.context().close();
});

test("an instructor walks round and lets out, but neither mends nor reads the log", async () => {
  const page = await as("Ida Instructor", "/machines/H-01", desk);
  await page.locator("summary", { hasText: "Hang hold tag" }).waitFor({ timeout: 60_000 });
  assert.equal(await page.getByRole("link", { name: "Records" }).count(), 0);
  assert.ok(await page.locator("summary", { hasText: "Open a job" }).isVisible());
  await page.goto("/records");
  await page.getByText("Your role does not see the log").waitFor();
  await page.goto("/jobs");
  await page.getByRole("heading", { level: 1, name: "Jobs" }).waitFor();
  assert.equal(await page.getByRole("button", { name: /^to in hand/ }).count(), 0);
  await clean(page);
  await page.context().close();
});

test("who is not enrolled writes through the server, and says so where there is none", async () => {
  const page = await as("Ida Instructor", "/machines/H-02", desk);
  await page.locator("#jobs").waitFor({ timeout: 60_000 });
  await openJob(page, "through the server");
  await page.locator("#jobs article", { hasText: "through the server" }).waitFor({ timeout: 30_000 });
  await page.context().setOffline(true);
  await openJob(page, "without it");
  await page.locator("#jobs").getByRole("alert").filter({ hasText: "The server does not answer" }).waitFor();
  await page.context().close();
});

/** Enrols the page's browser by a code: somebody's own, or nobody's. */
async function enrolled(page, person, label) {
  const { link } = await yard.ask("/api/v1/devices/codes", person ? { person } : {});
  await page.goto(`/enrol#${link.split("#")[1]}`);
  await page.getByLabel(/call this device/).fill(label);
  await page.getByRole("button", { name: "Enrol this device" }).click();
  await page.waitForURL((url) => url.pathname === "/");
}

test("a revoked phone says so, and what it wrote without signal still comes in", async () => {
  const lost = await yard.add("Len Lost", "instructor");
  const page = await as("Len Lost", "/");
  await enrolled(page, lost, "phone that is lost");
  await page.goto("/machines/H-03");
  await page.locator("#jobs").waitFor({ timeout: 60_000 });
  await kept(page);
  await page.locator("#jobs").waitFor();
  await page.context().setOffline(true);
  await openJob(page, "written while it was lost");
  await page.getByText("1 record not sent").waitFor();

  const owner = await as(yard.owner, "/devices");
  const row = owner.getByRole("listitem").filter({ hasText: "phone that is lost" });
  await row.getByText("lost or sold").click();
  await row.getByLabel("why").fill("left on the bus");
  await row.getByRole("button", { name: "Revoke" }).click();
  await row.getByText(/revoked after/).waitFor();
  await owner.context().close();

  await page.context().setOffline(false);
  await page.getByText("Signed out: sign in to send").waitFor({ timeout: 30_000 });
  await page.getByText("1 record not sent").waitFor();
  await clean(page);
  await yard.signIn(page, "Len Lost");
  await page.goto("/machines/H-03");
  await page.getByText("This device is revoked").waitFor({ timeout: 30_000 });
  await sent(page);
  await clean(page);
  await openJob(page, "written after");
  await page.locator("#jobs").getByRole("alert").waitFor();
  await page.context().close();

  const log = await as(yard.owner, "/records", desk);
  // It came in, and is looked at before it counts.
  await log.getByRole("row").filter({ hasText: "Len Lost" }).filter({ hasText: /job/i }).getByRole("link").last().click({ timeout: 30_000 });
  await log.getByText("written while it was lost").first().waitFor();
  await log.getByText(/^Set aside/).first().waitFor();
  await log.context().close();
});

test("a PIN is said to be missing, is set, and is checked: by the server, and by a phone that people share", async () => {
  const page = await as("Ida Instructor", "/");
  await enrolled(page, null, "phone at the gate");
  const hang = async () => {
    await page.goto("/machines/H-04");
    await page.locator("summary", { hasText: "Hang hold tag" }).click({ timeout: 60_000 });
    await page.locator("#tags details[open]").getByLabel("Why").fill("bar end is loose");
    await press(page, /^Hang hold tag/);
  };
  const sheet = page.getByRole("dialog", { name: "PIN of Ida Instructor" });
  const typed = async (pin) => {
    await page.keyboard.type(pin);
    await page.keyboard.press("Enter");
  };
  await hang();
  await sheet.getByText("No PIN is set yet").waitFor();
  await clean(page);
  await sheet.getByRole("link", { name: "Set one" }).click();
  await page.getByLabel("4 to 8 digits").fill("4711");
  await page.getByRole("button", { name: "Keep" }).first().click();
  await page.getByText("A PIN is set").waitFor();
  await kept(page);

  await hang();
  assert.equal(await sheet.getByRole("button", { name: "Sign without a PIN" }).count(), 0);
  await typed("1147");
  await sheet.getByRole("alert").filter({ hasText: "This is not the PIN" }).waitFor();
  await clean(page);
  await typed("4711");
  await page.locator("#tags").getByRole("heading", { name: "bar end is loose" }).waitFor();

  await page.context().setOffline(true);
  await hang();
  await sheet.getByText("this phone checks the PIN").waitFor();
  await typed("1147");
  await sheet.getByRole("alert").filter({ hasText: "This is not the PIN" }).waitFor();
  await typed("4711");
  await page.locator("#tags").getByRole("heading", { name: "bar end is loose" }).nth(1).waitFor();
  await page.context().close();
});

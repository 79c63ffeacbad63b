// The desk: the yard by keyboard, a machine, a job to its proof, tags by name, the record.
import { test, before, after } from "node:test";
import assert from "node:assert/strict";
import { sign } from "./acts.mjs";
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
  // The server has been asked who acts, and has answered.
  await page.waitForFunction(() => !/Asking/.test(document.querySelector(".state")?.textContent ?? ""), undefined, PATIENT);
});

after(async () => {
  await browser?.close();
  await server?.stop();
});

const row = (id) => page.locator("tr.row", { has: page.getByRole("link", { name: id, exact: true }) });
const ids = () => page.locator("tr.row th a").allTextContents();

test("24 machines stand on one screen with the verdicts of docs/demo.md", async () => {
  assert.equal((await ids()).length, 24);
  const last = await row("H-24").boundingBox();
  assert.ok(last.y + last.height <= 900, `the last row ends at ${last.y + last.height}`);
  const words = { "H-02": /range fit.*road unseen/, "H-08": /^Hold$/, "H-09": /^Unseen$/, "H-14": /range watch.*road hold/, "H-15": /^Fit$/ };
  for (const [id, words_of] of Object.entries(words)) {
    assert.match((await row(id).locator("td").nth(1).innerText()).replace(/\s+/g, " ").trim(), words_of, id);
  }
  const faces = await page.evaluate(() => document.fonts.load("400 16px 'Atkinson Hyperlegible Next'").then((of) => of.length));
  assert.ok(faces > 0, "letters stand in the app's own font");
  assert.deepEqual(await axe(page), []);
  assert.deepEqual(page.faults, []);
});

test("it is searched, moved through, sorted and filtered by keyboard alone", async () => {
  await page.keyboard.press("/");
  await page.keyboard.type("h-1");
  await page.waitForFunction(() => document.querySelectorAll("tr.row").length === 10);
  await page.keyboard.press("ArrowDown");
  await page.waitForFunction(() => document.activeElement?.textContent === "H-10");
  await page.keyboard.press("ArrowDown");
  await page.waitForFunction(() => document.activeElement?.textContent === "H-11");
  await page.keyboard.press("Enter");
  await page.getByRole("heading", { level: 1, name: "H-11" }).waitFor();
  await page.goBack();
  await page.locator("tr.row").nth(23).waitFor();

  await page.getByRole("button", { name: "Margin" }).or(page.getByRole("button", { name: /margin/ })).first().focus();
  await page.keyboard.press("Enter");
  const head = page.locator("th[aria-sort]", { hasText: "margin" });
  assert.equal(await head.getAttribute("aria-sort"), "ascending");
  await page.keyboard.press("Enter");
  assert.equal(await head.getAttribute("aria-sort"), "descending");

  await page.getByRole("button", { name: /^Hold/ }).focus();
  await page.keyboard.press("Space");
  await page.waitForFunction(() => document.querySelectorAll("tr.row").length === 7);
  assert.deepEqual((await ids()).sort(), ["H-03", "H-08", "H-11", "H-16", "H-17", "H-20", "H-23"]);
  // By the use asked for: on the range H-03 and H-23 may go.
  await page.getByRole("button", { name: "range", exact: true }).focus();
  await page.keyboard.press("Space");
  await page.waitForFunction(() => document.querySelectorAll("tr.row").length === 5);
  await page.getByRole("button", { name: "as planned" }).click();
  await page.getByRole("button", { name: /^All/ }).click();
});

test("tomorrow's need says what is short", async () => {
  const riders = ["p-20", "p-22", "p-23"];
  const payload = { name: "Morning class", uses: ["passenger"], riders, from: "2026-11-25T09:00:00+00:00", to: "2026-11-25T12:00:00+00:00", distance: null };
  const answer = await page.request.post("/api/v1/commands", { data: { do: "write", kind: "outing-planned", payload } });
  assert.equal(answer.status(), 201, await answer.text());
  const strip = page.getByRole("region", { name: /Morning class needs 3/ });
  await strip.waitFor({ timeout: 60_000 });
  // Only H-15 is fit for a passenger.
  assert.match(await strip.innerText(), /1 fit, 2 short/);
});

test("a machine's page has its plate, its rulers and its sheet", async () => {
  await page.getByRole("link", { name: "H-07", exact: true }).first().click();
  await page.getByRole("heading", { level: 1, name: "H-07" }).waitFor();
  assert.match(await page.locator(".plate").innerText(), /Watch[\s\S]*range watch[\s\S]*road hold/);
  await page.getByRole("region", { name: "Oil level" }).getByRole("img", { name: /Oil level: 80/ }).waitFor();
  assert.match(await page.getByRole("region", { name: "Sheet of H-07" }).innerText(), /handbook, p\. \d+/);
  // The whole history and the charts come from the server.
  await page.getByText(/readings over the distance/).first().click();
  await page.locator("svg.chart").first().waitFor();
  await page.locator("#history").getByText(/^all \d+/).waitFor();
  assert.deepEqual(await axe(page), []);
});

test("on a phone history and charts are asked for when they are opened, and say when there is no signal", async () => {
  const small = await phone(browser, server.address);
  const asked = [];
  small.on("request", (request) => asked.push(new URL(request.url())));
  const door = "/api/v1/machines/H-07";
  const asks = (path) => asked.filter((of) => of.pathname === `${door}${path}`).length;
  await small.goto("/machines/H-07");
  const history = small.locator("#history");
  await history.locator("summary").first().waitFor(PATIENT);
  await small.getByText(/\d+ readings over the distance/).first().waitFor();
  assert.deepEqual([asks(""), asks("/history"), asks("/readings"), asks("/readings/latest")], [0, 0, 0, 1]);

  await history.locator("summary").first().tap();
  await history.getByText(/^all \d+/).waitFor();
  assert.deepEqual([asks("/history"), asks("/readings")], [1, 0]);
  const trend = small.locator(".trend");
  const said = Number(/\d+/.exec(await trend.first().locator("summary").innerText())[0]);
  await trend.first().locator("summary").tap();
  await trend.first().locator("svg.chart").waitFor();
  assert.match(await trend.first().locator("svg.chart").getAttribute("aria-label"), new RegExp(` ${said} readings `));
  assert.deepEqual([asks("/history"), asks("/readings")], [1, 1]);
  assert.deepEqual(await axe(small), []);

  await small.context().setOffline(true);
  await trend.nth(1).locator("summary").tap();
  await trend.nth(1).getByText(/No signal: this is what this device carries/).waitFor();
  await small.context().setOffline(false);
  await trend.nth(1).locator("svg.chart").waitFor();
  await trend.nth(1).getByText(/No signal/).waitFor({ state: "detached", timeout: 60_000 });
  assert.deepEqual(small.faults, []);
  await small.context().close();
});

test("tags are lifted by name, and no other", async () => {
  const tags = page.locator("#tags");
  for (const why of ["clutch drags", "mirror loose"]) {
    await tags.locator("summary", { hasText: "Hang hold tag" }).click();
    await tags.getByLabel("Why").first().fill(why);
    await sign(page, /^Hang hold tag/);
    await tags.getByRole("heading", { name: why }).waitFor();
  }
  await tags.locator("summary", { hasText: "Untag" }).click();
  await tags.getByRole("button", { name: "Untag" }).scrollIntoViewIfNeeded();
  await tags.getByRole("checkbox", { name: "mirror loose" }).check();
  await tags.locator("details[open]").getByLabel("Why").fill("tightened and looked at");
  await sign(page, /^Untag/);
  await tags.getByRole("heading", { name: "mirror loose" }).waitFor({ state: "detached" });
  assert.ok(await tags.getByRole("heading", { name: "clutch drags" }).isVisible());
});

test("a job has a day, is moved to another and to done, and its proof says what lacks", async () => {
  const jobs = page.locator("#jobs");
  await jobs.locator("summary", { hasText: "Open a job" }).click();
  await jobs.getByLabel("Kind of job").selectOption("chain");
  await jobs.getByLabel("Why").fill("slack at one place");
  await jobs.locator("form.actform").getByLabel("Planned for").fill("2026-11-30");
  await jobs.getByRole("button", { name: "Open a job" }).click();
  await jobs.getByRole("article", { name: "Chain and sprockets" }).waitFor();

  await page.getByRole("navigation", { name: "Main" }).getByRole("link", { name: "Jobs" }).click();
  await page.getByRole("heading", { level: 1, name: "Jobs" }).waitFor();
  const card = page.getByRole("article", { name: "Chain and sprockets" });
  await card.getByText(/planned for .*30/).waitFor();
  await card.getByLabel("Planned for").fill("2026-12-02");
  await card.getByRole("button", { name: "plan it for this day" }).click();
  await card.getByText(/planned for .*2/).waitFor();
  await card.getByText(/planned for .*30/).waitFor({ state: "detached" });
  await card.getByRole("button", { name: "to in hand" }).click();
  await card.getByRole("button", { name: "to done" }).click();
  await card.getByRole("button", { name: "Prove by its readings" }).click();
  assert.match(await card.getByRole("alert").innerText(), /“Chain slack” not answered since it was done/);
  assert.deepEqual(await axe(page), []);
});

test("the record opens in full", async () => {
  await page.getByRole("navigation", { name: "Main" }).getByRole("link", { name: "Records" }).click();
  const line = page.getByRole("link", { name: "Job is done" }).first();
  await line.waitFor({ timeout: 60_000 });
  assert.deepEqual(await axe(page), []);
  await line.click();
  await page.getByRole("heading", { level: 1, name: "Job is done" }).waitFor();
  assert.match(await page.locator("main").innerText(), /Author\s+H\. Pellworth[\s\S]*SHA-256\s+[0-9a-f]{64}/);
  assert.match(await page.locator("main").innerText(), /Signature, Ed25519\s+[0-9a-f]{128}/);
  assert.deepEqual(await axe(page), []);
  assert.deepEqual(page.faults, []);
});

test("on a phone it is grouped by what to do", async () => {
  const small = await phone(browser, server.address, { storageState: undefined });
  await small.goto("/");
  await small.getByRole("heading", { name: "Must not go out" }).waitFor(PATIENT);
  await small.waitForFunction(() => /^7/.test(document.querySelector(".ygrp .cap")?.textContent ?? ""), undefined, PATIENT);
  assert.deepEqual(await small.locator(".ygrp h2").allTextContents().then((all) => all[0]), "Must not go out");
  const wide = await small.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  assert.ok(wide <= 0, `${wide} px too wide`);
  assert.deepEqual(await axe(small), []);
  await small.context().close();
});

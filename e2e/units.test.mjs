// A yard that counts in US units: psi and miles are shown, and a figure typed in psi is judged by a limit given in kPa.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { goTo, type, walk } from "./acts.mjs";
import { school } from "./school.mjs";
import { axe, browse, phone } from "./yard.mjs";

// NIST SP 811, B.8: 1 psi is 6.894757 kPa, 1 mi is 1.609344 km.
const KPA = 6.894757;
const KM = 1.609344;

let yard, browser, page;

before(async () => {
  yard = await school({ units: "us" });
  browser = await browse();
  page = await phone(browser, yard.address);
  await yard.signIn(page);
});

after(async () => {
  await browser?.close();
  await yard?.stop();
});

/** The sheet's limits of the rear tyre, in kPa, as its file has them. */
const SHEET = { set: 225, least: 215, most: 260 };

test("a pressure typed in psi is judged right on either side of its limit", async () => {
  await walk(page, "H-15", () => page.getByLabel("Odometer, mi").fill("9000"));
  await goTo(page, (name) => name === "Rear tyre pressure");
  const limits = (await page.locator(".limits li").allTextContents()).join(" ");
  assert.match(limits, new RegExp(`set ${(SHEET.set / KPA).toFixed(1)}\\spsi.*${(SHEET.least / KPA).toFixed(1)} to ${(SHEET.most / KPA).toFixed(1)}\\spsi`));
  assert.equal(await page.locator(".pad .key--u[aria-pressed=true]").innerText(), "psi");
  const low = (SHEET.least / KPA - 2).toFixed(1);
  await type(page, low);
  await page.getByText(new RegExp(`Pump to ${(SHEET.set / KPA).toFixed(1)}\\spsi, read again`)).waitFor();
  await page.getByRole("button", { name: "Pumped: read again" }).click();
  await type(page, (SHEET.set / KPA).toFixed(1));
  await page.locator(".do.fit").waitFor();
  assert.deepEqual(await axe(page), []);
  await page.locator(".leg:not([hidden]) .foot .btn--lg").click();
  await page.waitForFunction(() => document.querySelector(".leg:not([hidden]) main h1")?.textContent !== "Rear tyre pressure");
});

test("distances are miles wherever they stand", async () => {
  await page.goto("/machines/H-15");
  await page.getByRole("term").filter({ hasText: "Odometer" }).waitFor();
  assert.match(await page.getByRole("main").innerText(), /9000\smi|9.000\smi/);
  assert.doesNotMatch(await page.getByRole("main").innerText(), /\d\skm/);
  await page.goto("/machines/H-15/summary");
  assert.match(await page.locator("header.bar").innerText(), /9.?000\smi/);
  // The record keeps it as it was typed; what is reckoned is the same.
  const view = await page.request.get("/api/v1/machines/H-15");
  const text = JSON.stringify(await view.json());
  assert.ok(text.includes("9000 mi") || text.includes(String(9000 * KM).slice(0, 6)), text.slice(0, 400));
  await page.goto("/round");
  await page.getByRole("link", { name: /Tyre pressure/ }).click();
  await page.getByRole("button", { name: /^G-2/ }).click();
  await page.getByText("At each machine I look first").click();
  await page.getByRole("button", { name: "Begin the round" }).click();
  assert.match(await page.locator(".rnow header .cap").innerText(), /set .*psi|psi/);
  assert.deepEqual(await axe(page), []);
  assert.deepEqual(page.faults, []);
});

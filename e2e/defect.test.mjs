// Which of the law's defects it is: named in a typed form, in a round, in the look after a fall, and afterwards.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { axe, browse, desk, phone, serve } from "./yard.mjs";

let server, browser;
before(async () => {
  server = process.env.MUSTER_ADDRESS ? { address: process.env.MUSTER_ADDRESS, stop() {} } : await serve();
  browser = await browse();
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

const loose = /A brake's lever or pedal loose/;

test("a row of a typed form names the defect, and its class comes with it", async () => {
  const page = await desk(browser, server.address);
  await page.goto("/machines/H-05");
  await page.getByRole("link", { name: "Type in a paper form" }).click({ timeout: 240_000 });
  await page.getByLabel("Begun at").fill("07:05");
  await page.getByLabel("No hold tag on the bar").check();
  await page.getByLabel("Key on its hook").check();
  await page.getByRole("button", { name: "Type in the checks" }).click();
  const row = page.getByRole("listitem", { name: "Levers, cables and stop switch", exact: true });
  await row.getByLabel("Defective").check();
  const which = row.getByLabel(/^Which of the law's defects/);
  const option = await which.locator("option", { hasText: loose }).innerText();
  assert.match(option, /^major: /);
  await which.selectOption({ label: option });
  assert.equal(await row.getByLabel("How grave").inputValue(), "major");
  await row.getByLabel("What was found").fill("clutch side, turns by hand");
  assert.deepEqual(await axe(page), []);
  await page.getByLabel("Ended at").focus();
  await row.getByText("kept", { exact: true }).waitFor();
  assert.match(await row.innerText(), /Hold/);
  // Afterwards, at the machine: what it was named, and another name with the right to lower a class.
  await page.goto("/machines/H-05");
  const finding = page.locator("article.reason", { hasText: "clutch side, turns by hand" }).last();
  await finding.getByText(loose).first().waitFor({ timeout: 60_000 });
  await finding.locator("summary", { hasText: "Change its class" }).click();
  await finding.getByLabel(/^Class/).selectOption("dangerous");
  await finding.getByLabel("Why").fill("the lever cannot be reached");
  await finding.getByLabel("Which of the law's defects").selectOption("lever-not-applied");
  assert.deepEqual(await axe(page), []);
  await finding.getByRole("button", { name: "Change its class" }).click();
  await finding.getByText(/By law dangerous: .* cannot be readily applied/).waitFor();
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

test("the look after a fall and a round ask which it is where the classes differ", async () => {
  const page = await phone(browser, server.address);
  await page.goto("/machines/H-02/fall");
  await page.getByText(/Are they all right/).waitFor({ timeout: 240_000 });
  for (const name of ["walking pace", "left", "lever", "Save, look now"]) {
    await page.getByRole("button", { name, exact: true }).click();
  }
  await page.getByText("No hold tag on the bar").click();
  await page.getByRole("button", { name: /^Levers.*: defective, hold$/ }).click();
  const which = page.getByRole("group", { name: /^Which of the law's defects/ });
  await which.getByRole("button", { name: loose }).click();
  await which.getByRole("button", { name: loose, pressed: true }).waitFor();
  assert.deepEqual(await axe(page), []);
  await page.goto("/round/tyre~front~damage");
  await page.getByText("At each machine I look first").click({ timeout: 60_000 });
  await page.getByRole("button", { name: "Begin the round", exact: true }).click();
  const here = page.locator(".rnow h1");
  await here.waitFor();
  const machine = await here.innerText();
  await page.locator(".choice.hold").last().click();
  await which.waitFor();
  assert.equal(await here.innerText(), machine, "nothing is written before it is said which");
  assert.deepEqual(await axe(page), []);
  await which.getByRole("button", { name: /A cut longer than 25 mm/ }).click();
  await which.waitFor({ state: "hidden" });
  // The other wheel of the same machine comes next.
  assert.equal(await here.innerText(), machine);
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

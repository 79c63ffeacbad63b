// From nothing: an owner by a link, a yard, a model with its figures, a gauge, a machine, people and a second device.
import assert from "node:assert/strict";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { axe, browse, phone, serve } from "./yard.mjs";

let folder, server, browser;

before(async () => {
  folder = mkdtempSync(join(tmpdir(), "muster-first-"));
  server = await serve("--record", join(folder, "yard"));
  browser = await browse();
});

after(async () => {
  await browser?.close();
  await server?.stop();
  rmSync(folder, { recursive: true, force: true });
});

/** The link the server prints for whoever makes the first owner. */
async function firstLink() {
  for (let tries = 0; tries < 50; tries += 1) {
    const link = /https?:\S+\/first#\S+/.exec(server.said());
    if (link) return link[0];
    await new Promise((soon) => setTimeout(soon, 100));
  }
  throw new Error(`no link in: ${server.said()}`);
}

async function well(page) {
  assert.deepEqual(await axe(page), []);
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
  assert.ok(wide <= 0, `${page.url()} is ${wide} px too wide`);
}

test("an owner gets from nothing to a machine of their own", async () => {
  const page = await phone(browser, server.address, { viewport: { width: 320, height: 640 } });
  await page.goto(await firstLink());
  await page.getByLabel("your name").fill("Dot Fenwick");
  await page.getByLabel(/new password/).fill("a few words with spaces");
  await well(page);
  await page.getByRole("button", { name: "Begin" }).click();

  await page.getByLabel("what the yard is called").fill("Lower Yard");
  await well(page);
  await page.getByRole("button", { name: "Next" }).click();

  await page.getByLabel("number on the machine").fill("M-01");
  await page.getByRole("textbox", { name: "model", exact: true }).fill("My Model 125");
  await page.getByLabel("title of its handbook").fill("Owner's handbook");
  await page.getByLabel("Final drive").selectOption("chain");
  await well(page);
  await page.getByRole("button", { name: "Add a machine" }).click();

  await page.getByRole("heading", { name: "My Model 125" }).waitFor();
  await well(page);
  const missing = page.getByRole("heading", { name: /figures missing/ });
  const before = Number((await missing.textContent()).match(/\d+/)[0]);
  const pressure = page.getByRole("group").filter({ hasText: "Front tyre pressure" });
  await pressure.getByText("Front tyre pressure").click();
  await pressure.getByLabel("at least").fill("190");
  await pressure.getByLabel("at most").fill("220");
  await pressure.getByLabel("page", { exact: true }).fill("p. 66");
  await pressure.getByRole("button", { name: "Keep" }).click();
  await page.getByRole("heading", { name: `${before - 1} figures missing` }).waitFor();
  await page.getByText(/190 to 220/).waitFor();

  await page.goto("/instruments");
  await page.getByLabel("number on it").fill("G-1");
  await page.getByLabel("name", { exact: true }).fill("Tyre gauge");
  await page.getByLabel(/smallest step/).fill("1 kPa");
  await page.getByLabel(/may be off/).fill("3 kPa");
  await well(page);
  await page.getByRole("button", { name: "Add an instrument" }).click();
  await page.getByText("G-1 Tyre gauge").waitFor();

  await page.goto("/");
  await page.getByText("M-01").first().waitFor();
  assert.deepEqual(page.faults, []);
});

test("what a table says wrong is said by its line, and the rest goes in", async () => {
  const page = await signedIn();
  await page.goto("/add/many");
  await page.getByLabel("table").fill("machine;sheet;plate\nM-02;my-model-125;QZ21 HBS\n;my-model-125;\nM-03;no-such-model;\n");
  await well(page);
  await page.getByRole("button", { name: "Add them" }).click();
  await page.getByText("1 machines added").waitFor();
  await page.getByText(/Line 3: no number/).waitFor();
  await page.getByText(/Line 4: .*no-such-model/).waitFor();
  await page.context().close();
});

test("a second person comes in by a link, their phone by a code, and a lost one is revoked", async () => {
  const owner = await signedIn();
  await owner.goto("/people");
  await owner.getByLabel("name", { exact: true }).fill("Ivo Tindall");
  await owner.getByRole("button", { name: "Add a person" }).click();
  const password = await owner.getByText(/\/password#/).textContent();
  await well(owner);

  const other = await phone(browser, server.address);
  await other.goto(password);
  await other.getByLabel(/new password/).fill("other words with spaces");
  await other.getByRole("button", { name: "Set a password" }).click();
  await other.getByText("M-01").first().waitFor();

  await owner.goto("/devices");
  await owner.getByLabel("whose device").selectOption({ label: "Ivo Tindall's own" });
  await owner.getByRole("button", { name: "Show a code" }).click();
  const enrol = await owner.getByText(/\/enrol#/).textContent();
  await well(owner);
  await other.goto(enrol);
  await other.getByLabel(/call this device/).fill("phone at the range");
  await other.getByRole("button", { name: "Enrol this device" }).click();
  await other.getByText("M-01").first().waitFor();

  await owner.reload();
  await owner.getByText("phone at the range").waitFor();
  const row = owner.getByRole("listitem").filter({ hasText: "phone at the range" });
  await row.getByText("lost or sold").click();
  await row.getByLabel("why").fill("left on the bus");
  await row.getByRole("button", { name: "Revoke" }).click();
  await row.getByText(/revoked after/).waitFor();
  assert.deepEqual([...owner.faults, ...other.faults], []);
});

test("nobody comes in by a wrong password, and it is said beside the button", async () => {
  const page = await phone(browser, server.address);
  await page.goto("/sign-in");
  await page.getByLabel("name").fill("Dot Fenwick");
  await page.getByLabel("password").fill("not the password");
  await well(page);
  await page.getByRole("button", { name: "Sign in" }).click();
  await page.getByRole("alert").waitFor();
  await page.context().close();
});

async function signedIn() {
  const page = await phone(browser, server.address);
  await page.goto("/sign-in");
  await page.getByLabel("name").fill("Dot Fenwick");
  await page.getByLabel("password").fill("a few words with spaces");
  await page.getByRole("button", { name: "Sign in" }).click();
  await page.getByText("M-01").first().waitFor();
  return page;
}

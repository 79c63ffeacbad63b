// A form filled by hand, typed in at a desk: judged row by row, kept as of when it was walked, closed, and its verdict.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
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

const row = (page, name) => page.getByRole("listitem", { name, exact: true });

/** The head of a form, as it stands on the paper. */
async function begin(page, machine) {
  await page.goto(`/machines/${machine}`);
  await page.getByRole("link", { name: "Type in a paper form" }).click({ timeout: 120_000 });
  await page.getByLabel("Begun at").fill("07:05");
  await page.getByLabel("No hold tag on the bar").check();
  await page.getByLabel("Key on its hook").check();
  await page.getByRole("button", { name: "Type in the checks" }).click();
  await page.locator(".trow").first().waitFor();
}

test("a form of the morning is typed in and judged", async () => {
  const page = await desk(browser, server.address);
  await begin(page, "H-07");
  assert.deepEqual(await axe(page), []);
  const began = Date.now();
  let keys = 0;
  const front = row(page, "Front tyre pressure");
  await front.getByLabel(/^Front tyre pressure, gauge reads/).fill("24.9");
  await front.getByLabel("with", { exact: true }).selectOption("G-1");
  await front.getByLabel(/^Front tyre pressure, gauge reads/).fill("25.5");
  keys += 3;
  await front.getByText("Fit", { exact: true }).waitFor();
  const rear = row(page, "Rear tyre pressure");
  await rear.getByLabel("with", { exact: true }).selectOption("G-1");
  await rear.getByLabel(/^Rear tyre pressure, gauge reads/).fill("22");
  await rear.getByText("to set", { exact: true }).waitFor();
  await rear.getByLabel("unit", { exact: true }).first().selectOption("kPa");
  await rear.getByLabel(/^Rear tyre pressure, gauge reads/).fill("152");
  await rear.getByText("Set, then read again").click();
  await rear.getByLabel(/^Rear tyre pressure, Set/).fill("29.1");
  await rear.getByText("Fit", { exact: true }).waitFor();
  keys += 8;
  const names = await page.locator(".trow").evaluateAll((rows) => rows.map((row) => row.getAttribute("aria-label")));
  for (const name of names.filter((name) => !/pressure/.test(name))) {
    const boxes = row(page, name);
    if (name === "Fasteners and loose parts") {
      await boxes.getByLabel("Doubtful").check();
      await boxes.getByLabel("What was found").fill("mirror turns in its clamp");
      keys += 25;
    } else {
      await boxes.getByLabel("Sound").check();
    }
    keys += 1;
  }
  // Changed afterwards: a correction of the same walk-round.
  await front.getByLabel(/^Front tyre pressure, gauge reads/).fill("25.2");
  await page.getByLabel("Ended at").focus();
  for (const name of names) await row(page, name).getByText("kept", { exact: true }).waitFor();
  await page.getByText(`All ${names.length} checks are answered.`).waitFor();
  console.log(`typed in: ${names.length} checks, ${keys} keys and touches, ${((Date.now() - began) / 1000).toFixed(1)} s`);
  await page.getByRole("button", { name: "Close the form and see the verdict" }).click();
  await page.waitForURL("**/summary");
  await page.getByText("mirror turns in its clamp").first().waitFor();
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

test("what is refused is said at its row, and the form does not close over it", async () => {
  const page = await phone(browser, server.address);
  await begin(page, "H-09");
  assert.deepEqual(await axe(page), []);
  const front = row(page, "Front tyre pressure");
  await front.getByLabel(/^Front tyre pressure, gauge reads/).fill("ab");
  await page.getByLabel("Ended at").focus();
  await front.getByRole("alert").waitFor();
  await page.getByRole("button", { name: "Close the form and see the verdict" }).click();
  await page.getByText(/Not kept, mend or empty them first/).waitFor();
  assert.match(page.url(), /typed/);
  // Left, and gone on with.
  await page.goto("/machines/H-09/typed");
  await page.getByRole("button", { name: "Go on" }).click();
  await page.locator(".trow").first().waitFor();
  await page.getByRole("button", { name: "Close the form and see the verdict" }).click();
  await page.waitForURL("**/summary");
  await page.context().close();
});

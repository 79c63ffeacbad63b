// A hold tag numbered before it was needed: scanned and hung, scanned again, lifted; and what a paper's code leads to.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { press, sign } from "./acts.mjs";
import { axe, browse, phone, serve } from "./yard.mjs";

let server, browser, page;

before(async () => {
  server = process.env.MUSTER_ADDRESS ? { address: process.env.MUSTER_ADDRESS, stop() {} } : await serve();
  browser = await browse();
  page = await phone(browser, server.address);
});

after(async () => {
  await browser?.close();
  await server?.stop();
});

const clean = async () => assert.deepEqual(await axe(page), []);

/** What the camera would have read, typed. */
async function scan(text) {
  await page.goto("/scan");
  await page.getByLabel("or its number").fill(text);
  await page.getByRole("button", { name: "Find it" }).click();
}

test("a free number is hung on a machine, found there again, and lifted", async () => {
  await page.goto("/tags/0087");
  await page.getByRole("heading", { name: "Hold tag 0087 hangs nowhere." }).waitFor({ timeout: 240_000 });
  await clean();
  await press(page, /Hang hold tag/);
  await page.getByRole("alert").filter({ hasText: "Say which machine it hangs on." }).waitFor();
  await page.getByLabel("machine").selectOption("H-02");
  await page.getByLabel("Why").fill("clutch drags");
  await sign(page, /Hang hold tag/);
  await page.waitForURL("**/machines/H-02");
  await page.locator("#tags").getByRole("heading", { name: "clutch drags" }).waitFor();

  await scan("https://yard.example/tags/0087");
  await page.waitForURL("**/tags/0087");
  await page.getByText("Hold tag 0087 hangs on H-02.").waitFor();
  await clean();
  await page.getByLabel("Why").fill("cable adjusted and read again");
  await sign(page, /Untag/);
  await page.waitForURL("**/machines/H-02");

  const lifted = async () => (await (await page.request.get("/api/v1/tags/87")).json()).lifted.length > 0;
  for (let looks = 0; looks < 150 && !(await lifted()); looks += 1) await page.waitForTimeout(200);
  // However many zeros stand before it, it is the same tag.
  await scan("87");
  await page.waitForURL("**/tags/87");
  await page.getByRole("heading", { name: "Hold tag 87 hangs nowhere." }).waitFor();
  await page.getByText("It was used on H-02 and lifted").waitFor();
  assert.deepEqual(page.faults, []);
});

test("the code of a paper leads to its record, and says whether it is the one it names", async () => {
  const log = await (await page.request.get("/api/v1/lists/record?format=json&limit=1")).json();
  const event = log[0].event;
  const { hash } = await (await page.request.get(`/api/v1/record/${event}`)).json();
  await page.goto(`/records/${event}#${hash.toUpperCase()}`);
  await page.getByText("The paper's code names this record.").waitFor({ timeout: 60_000 });
  await clean();
  await page.goto("/");
  await page.goto(`/records/${event}#${"0".repeat(64)}`);
  await page.getByText("This is not the record that the paper's code names.").waitFor();
});

test("a machine's paper leads to what is known of it, and a file that is not ours is not known", async () => {
  await page.goto(`/machines/H-02#${"AB".repeat(32)}`);
  await page.getByRole("link", { name: "What is known of it" }).click();
  await page.getByText("No paper is known here that rests on this.").waitFor();
  await page.getByLabel("Choose a file").setInputFiles({ name: "a.pdf", mimeType: "application/pdf", buffer: Buffer.from("%PDF") });
  await page.getByRole("alert").filter({ hasText: "Not known" }).waitFor();
  await clean();
  assert.deepEqual(page.faults, []);
});

// Two phones that do not hear of each other: what they contradict in is said on both and at the desk; a photo comes after.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { goTo, press, sent, sign, walk } from "./acts.mjs";
import { axe, browse, desk, kept, phone, serve } from "./yard.mjs";

let server, browser, one, other, board;

before(async () => {
  server = await serve();
  browser = await browse();
  [one, other, board] = await Promise.all([phone(browser, server.address), phone(browser, server.address), desk(browser, server.address)]);
  for (const page of [one, other]) {
    await page.goto("/");
    await page.getByRole("heading", { name: "Must not go out" }).waitFor({ timeout: 60_000 });
    await kept(page);
  }
});

after(async () => {
  await browser?.close();
  await server?.stop();
});

const offline = (...pages) => Promise.all(pages.map((page) => page.context().setOffline(true)));

/** Signal comes back, one after the other, and each then hears of what the other wrote. */
async function together() {
  for (const page of [one, other]) {
    await page.context().setOffline(false);
    await sent(page);
  }
}

async function everywhere(path, says) {
  for (const page of [one, other, board]) {
    await page.goto(path);
    await page.getByText(says).first().waitFor({ timeout: 60_000 });
    if (page !== one) assert.deepEqual(await axe(page), []);
    assert.deepEqual(page.faults, []);
  }
}

test("one sees it sound, the other defective: the graver counts, and both are told of", async () => {
  await walk(one, "H-09");
  await walk(other, "H-09");
  await offline(one, other);
  const isLook = (page) => async () => (await page.locator(".choices:visible").count()) > 0;
  const check = await goTo(one, isLook(one));
  await goTo(other, (name) => name === check);
  await one.getByRole("button", { name: /^Sound/ }).click();
  await other.getByRole("button", { name: /^Defective/ }).click();
  await other.getByRole("button", { name: "No finding" }).click();
  await together();
  await everywhere("/machines/H-09", /defective.*saw it sound, and the graver counts/i);
});

test("one lets it out, the other hangs a tag: out against a tag, with what to do", async () => {
  for (const page of [one, other]) {
    await page.goto("/machines/H-15/summary");
    await page.locator(".plate").waitFor({ timeout: 60_000 });
  }
  await offline(one, other);
  for (const box of await one.getByRole("checkbox").all()) await box.check();
  await sign(one, /^Release/);
  await one.getByText("Released.").waitFor();
  await other.getByRole("button", { name: "Hang hold tag" }).click();
  await other.getByLabel(/Why/).fill("clutch drags");
  await sign(other, "Hang hold tag");
  await other.getByText(/Hold tag,/).waitFor();
  await together();
  await everywhere("/machines/H-15", /out against a hold tag: call the rider/);
});

test("a photo taken without signal is seen at the desk once there is some", async () => {
  await walk(one, "H-18");
  await offline(one);
  await goTo(one, async () => (await one.locator(".choices:visible").count()) > 0);
  await one.getByRole("button", { name: /^Defective/ }).click();
  await one.locator(".words .chip").first().click();
  const words = await one.getByRole("textbox", { name: "What was found" }).inputValue();
  await one.locator("input[type=file]").last().setInputFiles({ name: "photo.png", mimeType: "image/png", buffer: await one.screenshot() });
  await one.getByAltText("photo 1").waitFor();
  await one.locator(".foot .btn--lg:visible").click();
  // The answer, the finding and the photo: each is on the phone before the page is left.
  await one.getByText(/[3-9] records not sent/).waitFor();
  // They outlast the page.
  await one.goto("/machines/H-18");
  await one.getByText(/[3-9] records not sent/).waitFor({ timeout: 60_000 });
  await one.context().setOffline(false);
  await sent(one);
  await board.goto("/machines/H-18");
  const photo = board.getByRole("img", { name: new RegExp(words.slice(0, 20), "i") });
  await photo.waitFor({ timeout: 60_000 });
  await photo.scrollIntoViewIfNeeded();
  await board.waitForFunction((of) => of.naturalWidth > 0, await photo.elementHandle());
  assert.deepEqual(await axe(board), []);
});

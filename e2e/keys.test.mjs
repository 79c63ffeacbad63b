// The desk by keyboard alone: a defect found, its job opened, the look that proves it, the tag lifted.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { school } from "./school.mjs";
import { axe, browse, desk } from "./yard.mjs";

let yard, browser, page;

before(async () => {
  yard = await school();
  browser = await browse();
  page = await desk(browser, yard.address);
  await yard.signIn(page);
  await page.goto("/machines/H-09");
  await page.locator("#jobs").waitFor({ timeout: 60_000 });
  // No mouse from here on.
  for (const way of ["move", "down", "up", "click", "dblclick", "wheel"]) page.mouse[way] = () => assert.fail("a mouse was used");
});

after(async () => {
  await browser?.close();
  await yard?.stop();
});

const button = (name) => page.getByRole("button", { name });
const key = (name) => page.keyboard.press(name);

/** Goes on by Tab till something has the focus, and sees that one sees it. */
async function tab(to) {
  await to.first().waitFor();
  for (let stops = 0; stops < 250; stops += 1) {
    if (await to.first().evaluate((of) => of === document.activeElement)) {
      const seen = await to.first().evaluate((of) => of.matches(":focus-visible"));
      return assert.ok(seen, "the focus is seen");
    }
    await key("Tab");
  }
  assert.fail(`no way by Tab to ${to}`);
}

async function push(to) {
  await tab(to);
  await key("Enter");
}

async function tick(to) {
  await tab(to);
  await key("Space");
}

/** Enter, Enter: as long as a press; then the PIN that nobody has set. */
async function sign(name) {
  await tab(button(name));
  await key("Enter");
  await key("Enter");
  await push(page.getByRole("dialog").getByRole("button", { name: "Sign without a PIN" }));
}

/** Begins a walk-round, of all checks if asked, and goes to one by the list. */
async function lookAt(check, depth = "before ride") {
  await push(page.getByRole("link", { name: "Start walk-round" }));
  await tick(page.getByRole("checkbox", { name: "No hold tag on the bar" }));
  await tick(page.getByRole("checkbox", { name: "Key on its hook" }));
  await tab(page.getByLabel("Depth"));
  await page.keyboard.type(depth);
  await push(button(/^Begin/));
  await page.waitForURL(/\/walk\/.+\/.+/);
  await push(button("All checks"));
  await push(page.getByRole("button", { name: new RegExp(`${check}`) }));
  await page.getByRole("heading", { level: 1, name: check }).waitFor();
}

/** Closes it and goes back to the machine. */
async function close() {
  await push(button("All checks"));
  await push(button("To the end"));
  await push(button("Close all the same"));
  await page.waitForURL(/summary/);
  await page.locator(".plate").waitFor();
}

test("a defect becomes a finding and a tag", async () => {
  await lookAt("Throttle return");
  await push(button(/^Defective/));
  await page.getByRole("heading", { name: /^Finding/ }).waitFor();
  await tab(page.getByRole("textbox", { name: "What was found" }));
  await page.keyboard.type("throttle stays open");
  await push(button(/Save and hold/));
  await close();
  assert.match(await page.locator(".plate").innerText(), /^Hold/);
  await push(button("Hang hold tag"));
  await sign("Hang hold tag");
  await page.getByText(/Hold tag,/).waitFor();
  assert.deepEqual(await axe(page), []);
});

test("its job is opened, moved to done, and not proven before it is looked at", async () => {
  await push(button("to the machine"));
  const jobs = page.locator("#jobs");
  await push(jobs.locator("summary", { hasText: "Open a job" }));
  await tab(jobs.getByLabel("Kind of job"));
  await page.keyboard.type("Throttle");
  await tab(jobs.getByLabel("Why"));
  await page.keyboard.type("cable sticks");
  await tick(jobs.getByRole("checkbox", { name: "throttle stays open" }));
  await push(jobs.getByRole("button", { name: "Open a job" }));
  const card = jobs.getByRole("article", { name: "Throttle and its cables" });
  await push(card.getByRole("button", { name: "to in hand" }));
  await push(card.getByRole("button", { name: "to done" }));
  await push(card.getByRole("button", { name: "Prove by its readings" }));
  assert.match(await card.getByRole("alert").innerText(), /“Throttle return” not answered since it was done/);
});

test("the look that proves it closes the job, and the tag is lifted by name", async () => {
  await lookAt("Throttle return", "full");
  await push(button(/^Sound/));
  await close();
  await push(button("to the machine"));
  const card = page.locator("#jobs").getByRole("article", { name: "Throttle and its cables" });
  await push(card.getByRole("button", { name: "Prove by its readings" }));
  await card.waitFor({ state: "detached" });
  const tags = page.locator("#tags");
  await push(tags.locator("summary", { hasText: "Untag" }));
  await tick(tags.getByRole("checkbox").first());
  await tab(tags.locator("details[open]").getByLabel("Why"));
  await page.keyboard.type("cable renewed and looked at");
  await sign("Untag");
  await tags.getByText("None.").waitFor();
  assert.deepEqual(await axe(page), []);
  assert.deepEqual(page.faults, []);
});

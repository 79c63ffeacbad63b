// What somebody is filling is not drawn anew under their hand when news of the machine comes in.
import { test, before, after } from "node:test";
import assert from "node:assert/strict";
import { browse, desk, serve } from "./yard.mjs";

const PATIENT = { timeout: 180_000 };
let server, browser, page;

before(async () => {
  server = await serve();
  browser = await browse();
  page = await desk(browser, server.address);
});

after(async () => {
  await browser?.close();
  await server?.stop();
});

/** Writes from elsewhere, as another phone would. */
async function write(asked) {
  const answer = await page.request.post("/api/v1/commands", { data: asked });
  assert.equal(answer.status(), 201, await answer.text());
}

const finding = (what) => ({ machine: "H-15", walk_round: null, check: null, what, class: "minor", uses: ["range"], feedback: false });

test("a reason half typed outlasts a tag that somebody else hangs", async () => {
  await page.goto("/machines/H-15");
  const tags = page.locator("#tags");
  const form = tags.locator("details", { has: page.locator("summary", { hasText: "Hang hold tag" }) });
  await form.locator("summary").click(PATIENT);
  await form.getByLabel("Why").pressSequentially("oil on ");

  await write({ do: "tag", machine: "H-15", why: "chain is slack", number: null });
  // It is told above the form at once.
  await tags.getByRole("heading", { name: "chain is slack" }).waitFor({ timeout: 30_000 });
  await form.getByLabel("Why").pressSequentially("the ground");
  assert.equal(await form.getByLabel("Why").inputValue(), "oil on the ground");
  assert.ok(await form.evaluate((of) => of.open));

  // Once the form is left, what it offers is as it is now.
  await form.locator("summary").click();
  await tags.locator("summary", { hasText: "Untag" }).waitFor({ timeout: 10_000 });
  assert.deepEqual(page.faults, []);
});

test("so does a note of a job, on the machine's page and among all jobs", async () => {
  for (const [path, why] of [["/machines/H-15", "first"], ["/jobs", "second"]]) {
    await page.goto(path);
    if (path.startsWith("/machines")) {
      await write({ do: "write", kind: "job-opened", payload: { machine: "H-15", job: "oil", why: "it hangs", findings: [], tags: [] } });
    }
    const job = page.locator("article.job", { hasText: "it hangs" });
    await job.getByLabel("Note").fill(why, PATIENT);
    const heard = page.waitForResponse((answer) => answer.url().endsWith("/api/v1/sync/missing"), { timeout: 30_000 });
    await write({ do: "write", kind: "finding-raised", payload: finding(`${why} scratch`) });
    await (await heard).finished();
    await page.waitForTimeout(500);
    assert.equal(await job.getByLabel("Note").inputValue(), why, path);
  }
  assert.deepEqual(page.faults, []);
});

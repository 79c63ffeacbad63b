// What people do on several screens, by role and label.

/** Presses for a second, as whoever signs does. */
export async function press(page, name) {
  await page.getByRole("button", { name }).hover();
  await page.mouse.down();
  await page.waitForTimeout(1_150);
  await page.mouse.up();
}

/** Presses, and signs without a PIN where none is set. */
export async function sign(page, name) {
  await press(page, name);
  await page.getByRole("dialog").getByRole("button", { name: "Sign without a PIN" }).click();
}

/** Begins a machine's walk-round and goes to the check it begins with; what else is typed first is the caller's. */
export async function walk(page, machine, fill = async () => {}) {
  await page.goto(`/machines/${machine}/walk`);
  await page.getByText("No hold tag on the bar").click({ timeout: 60_000 });
  await page.getByText("Key on its hook").click();
  await fill();
  await page.getByRole("button", { name: /^Begin/ }).click();
  await page.waitForURL(/\/walk\/.+\/.+/);
  await heading(page).waitFor();
}

export const heading = (page) => page.locator(".leg:not([hidden]) main h1");

/** Goes from check to check till one is as it is wanted; what is passed over stays open. */
export async function goTo(page, wanted) {
  for (let checks = 0; checks < 40; checks += 1) {
    const name = await heading(page).innerText();
    if (await wanted(name)) return name;
    await page.locator(".leg:not([hidden]) .foot .btn--lg").click();
    await page.waitForFunction((was) => document.querySelector(".leg:not([hidden]) main h1")?.textContent !== was, name);
  }
  throw new Error("no such check in this walk-round");
}

/** Types a figure on the keypad. */
export async function type(page, figure) {
  const pad = page.getByRole("group", { name: "Keypad" });
  for (const digit of figure) await pad.getByRole("button", { name: digit === "." ? "decimal sign" : digit, exact: true }).click();
}

/** Opens a job on a machine's page: an act that costs little. */
export async function openJob(page, why) {
  const jobs = page.locator("#jobs");
  const form = jobs.locator("details").filter({ has: page.locator("summary", { hasText: "Open a job" }) });
  if (!(await form.evaluate((of) => of.open))) await form.locator("summary").click();
  await form.getByLabel("Why").fill(why);
  await form.getByRole("button", { name: "Open a job" }).click();
}

/** Waits till everything written here is with the server. */
export async function sent(page) {
  await page.getByText(/records? not sent/).waitFor({ state: "detached", timeout: 30_000 });
}

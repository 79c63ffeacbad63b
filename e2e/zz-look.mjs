import { serve, browse, phone, desk, axe, kept } from "/work/wt-a/e2e/yard.mjs";
const server = await serve();
const browser = await browse();
try {
  const page = await phone(browser, server.address);
  page.on("request", (r) => { if (!/chunk|split_/.test(r.url())) console.log("  >", r.method(), r.url().replace(server.address, "")); });
  const t = Date.now();
  await page.goto("/");
  for (const ms of [200, 400, 800, 1500, 3000, 6000, 12000]) {
    await page.waitForTimeout(Math.max(0, t + ms - Date.now()));
    console.log(ms, await page.evaluate(() => ({ opening: !!document.getElementById("opening"), rows: document.querySelectorAll(".ylines li a").length, text: document.querySelector(".ylines li a")?.innerText.replace(/\n/g, "|"), chips: [...document.querySelectorAll(".chip b")].map((b) => b.textContent).join(","), state: document.querySelector(".state")?.innerText })));
  }
  await page.screenshot({ path: "/tmp/a-phone.png" });
  console.log("faults", page.faults, await axe(page));
  await kept(page);
  await page.context().setOffline(true);
  await page.goto("/");
  const t2 = Date.now();
  for (const ms of [100, 300, 600, 1200, 2500, 5000, 9000]) {
    await page.waitForTimeout(Math.max(0, t2 + ms - Date.now()));
    console.log("again", ms, await page.evaluate(() => ({ rows: document.querySelectorAll(".ylines li a").length, text: document.querySelector(".ylines li a")?.innerText.replace(/\n/g, "|"), chips: [...document.querySelectorAll(".chip b")].map((b) => b.textContent).join(",") })));
  }
  const d = await desk(browser, server.address);
  await d.goto("/");
  await d.locator("tr.row").nth(10).waitFor({ timeout: 120000 });
  await d.waitForTimeout(8000);
  await d.screenshot({ path: "/tmp/a-desk.png" });
  console.log("desk", d.faults, await axe(d));
} finally { await browser.close(); await server.stop(); }

import { browse, phone, axe } from "./yard.mjs";
const [address, ...paths] = process.argv.slice(2);
const browser = await browse();
const page = await phone(browser, address);
await page.goto("/");
await page.waitForSelector(".ylist li", { timeout: 240000 });
console.log("known", await page.locator(".ylist li").count());
console.log((await page.locator(".ylist li").allInnerTexts()).map((of) => of.replace(/\n/g, " | ")).join("\n"));
const state = await page.context().storageState();
for (const path of paths) {
  for (const [kind, options] of [["phone", {}], ["dusk", { colorScheme: "dark" }], ["narrow", { width: 320, height: 640 }]]) {
    if (options.width) await page.setViewportSize(options); else { await page.setViewportSize({ width: 390, height: 844 }); await page.emulateMedia(options); }
    await page.goto(path);
    await page.waitForSelector("h1");
    await page.waitForTimeout(700);
    await page.screenshot({ path: `/tmp/k/${path.slice(1).replaceAll("/", "-")}-${kind}.png` });
    if (kind === "phone") console.log(path, await axe(page));
    await page.emulateMedia({ colorScheme: null });
  }
}
console.log(page.faults);
await browser.close();

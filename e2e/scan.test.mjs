// The code on a machine's sticker, read through a camera: a picture of it is all that the camera sees.
import assert from "node:assert/strict";
import { writeFileSync } from "node:fs";
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import qrcode from "qrcode-generator";
import { axe, browse, phone, serve } from "./yard.mjs";

const WIDTH = 640, HEIGHT = 480;
let server, folder;
before(async () => {
  server = await serve();
  folder = await mkdtemp(join(tmpdir(), "camera-"));
});
after(async () => {
  await server?.stop();
  await rm(folder, { recursive: true, force: true });
});

/** A film of one code of level H, dark grey on light grey, not quite in the middle (YUV4MPEG2, which Chromium plays as a camera). */
function film(text) {
  const code = qrcode(0, "H");
  code.addData(text);
  code.make();
  const side = code.getModuleCount(), cell = Math.floor(280 / side), left = 190, top = 70;
  const luma = Buffer.alloc(WIDTH * HEIGHT, 190);
  for (let y = 0; y < HEIGHT; y++) {
    for (let x = 0; x < WIDTH; x++) {
      const row = Math.floor((y - top) / cell), column = Math.floor((x - left) / cell);
      const isIn = row >= 0 && row < side && column >= 0 && column < side;
      if (isIn && code.isDark(row, column)) luma[y * WIDTH + x] = 60;
    }
  }
  const frame = Buffer.concat([Buffer.from("FRAME\n"), luma, Buffer.alloc((WIDTH * HEIGHT) / 2, 128)]);
  const head = Buffer.from(`YUV4MPEG2 W${WIDTH} H${HEIGHT} F10:1 Ip A1:1 C420jpeg\n`);
  const path = join(folder, `${text.replace(/\W+/g, "-")}.y4m`);
  writeFileSync(path, Buffer.concat([head, ...Array(5).fill(frame)]));
  return path;
}

/** A phone whose camera sees a code. */
async function seeing(text, work) {
  const browser = await browse([`--use-file-for-fake-video-capture=${film(text)}`]);
  try {
    const page = await phone(browser, server.address, { permissions: ["camera"] });
    await page.goto("/scan");
    await work(page);
    assert.deepEqual(page.faults, []);
  } finally {
    await browser.close();
  }
}

test("a sticker leads to its machine", () =>
  seeing("https://yard.example/machines/H-07", async (page) => {
    await page.waitForURL("**/machines/H-07", { timeout: 120_000 });
    await page.getByRole("heading", { level: 1, name: "H-07" }).waitFor();
  }));

test("a numbered tag leads to its hanging", () =>
  seeing("https://yard.example/tags/0087", async (page) => {
    await page.waitForURL("**/tags/0087", { timeout: 120_000 });
    await page.getByText("hangs nowhere").waitFor();
  }));

test("a code of somebody else's is named and leads nowhere", () =>
  seeing("https://elsewhere.example/menu", async (page) => {
    await page.getByText("elsewhere.example/menu").waitFor({ timeout: 120_000 });
    assert.match(page.url(), /\/scan$/);
    assert.deepEqual(await axe(page), []);
  }));

// The schemas of data files in a validator that is not ours: every file of the project holds to them, and slips do not.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { readdirSync, readFileSync } from "node:fs";
import { test } from "node:test";
import Ajv from "ajv/dist/2020.js";
import { parse } from "smol-toml";
import { PROGRAM } from "./yard.mjs";

const DATA = new URL("../data/", import.meta.url);
const FOLDERS = {
  checks: ["checks/"],
  law: ["law/"],
  sheet: ["demo/harrow-lane/sheets/", "demo/north-barn/sheets/"],
  machine: ["demo/harrow-lane/machines/", "demo/north-barn/machines/"],
};
const FILES = { yard: ["demo/harrow-lane/yard.toml", "demo/north-barn/yard.toml", "gauges.toml"], house: ["demo/harrow-lane/house.toml"] };

const schema = (of) => JSON.parse(execFileSync(PROGRAM, ["data", "--schema", of], { encoding: "utf8" }));
// Days and moments are objects of the parser; an editor shows them as text.
const read = (file) => JSON.parse(JSON.stringify(parse(readFileSync(new URL(file, DATA), "utf8"))));

for (const of of [...Object.keys(FOLDERS), ...Object.keys(FILES)]) {
  test(`every ${of} file holds to its schema`, () => {
    const holds = new Ajv({ allErrors: true, strict: true, strictRequired: false }).compile(schema(of));
    const within = (folder) => readdirSync(new URL(folder, DATA)).filter((name) => name.endsWith(".toml")).map((name) => folder + name);
    const files = [...(FOLDERS[of] ?? []).flatMap(within), ...(FILES[of] ?? [])];
    assert.ok(files.length > 0);
    for (const file of files) assert.ok(holds(read(file)), `${file}: ${JSON.stringify(holds.errors, null, 1)}`);
  });
}

test("a slip does not hold", () => {
  const holds = new Ajv({ strict: true, strictRequired: false }).compile(schema("checks"));
  const file = "checks/6-under.toml";
  for (const slip of [
    (check) => (check.cautoin = "…"),
    (check) => (check.station = "below"),
    (check) => (check.class = "severe"),
    (check) => (check.uses = ["track"]),
    (check) => (check.applies = { stands: ["paddock"] }),
    (check) => delete check.look,
    (check) => (check.date = { what: "made" }),
  ]) {
    const data = read(file);
    slip(data.check[0]);
    assert.ok(!holds(data), slip.toString());
  }
});

test("a slip in what a sheet states for outings does not hold", () => {
  const holds = new Ajv({ strict: true, strictRequired: false }).compile(schema("sheet"));
  const file = "demo/harrow-lane/sheets/ostrel-heron.toml";
  assert.ok(holds(read(file)));
  for (const slip of [
    (outing) => (outing.weelbase = "1510 mm"),
    (outing) => delete outing.rider,
    (outing) => (outing.mass = 238),
    (outing) => (outing.luggage[0].at_most = "twenty"),
    (outing) => delete outing.luggage[0].place,
    (outing) => (outing.front.springs.sag = ["30 mm"]),
    (outing) => (outing.rear.springs.then_from = "80 mm"),
    (outing) => (outing.rear.springs.clicks = 2.5),
    (outing) => (outing.front.tyre.loads[0].holds = "198 kg"),
    (outing) => (outing.energy.of = "petrol"),
    (outing) => (outing.energy.used = []),
    (outing) => (outing.pads_mm_per_1000km = 0),
  ]) {
    const data = read(file);
    slip(data.outing);
    assert.ok(!holds(data), slip.toString());
  }
});

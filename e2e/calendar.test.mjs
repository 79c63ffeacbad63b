// The calendar as a calendar reads it: by ical.js, a parser that is not ours (RFC 5545).
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import ICAL from "ical.js";
import { serve } from "./yard.mjs";

let server;

before(async () => {
  server = await serve();
});

after(() => server?.stop());

const ask = (path, options) => fetch(new URL(path, server.address), options);

test("a calendar that cannot sign in reads what is due, till the address is taken back", async () => {
  const json = { "content-type": "application/json" };
  const label = { label: "office wall, über dem Schreibtisch" };
  const drawn = await ask("/api/v1/calendars", { method: "POST", headers: json, body: JSON.stringify(label) });
  assert.equal(drawn.status, 201);
  const { id, link } = await drawn.json();
  const path = new URL(link).pathname;
  const answer = await ask(path);
  assert.equal(answer.headers.get("content-type"), "text/calendar; charset=utf-8");
  const text = await answer.text();
  for (const line of text.split("\r\n")) assert.ok(Buffer.byteLength(line) <= 75, line);
  assert.ok(!/[^\r]\n/.test(text), "a line ends by LF alone");

  const calendar = new ICAL.Component(ICAL.parse(text));
  assert.equal(calendar.getFirstPropertyValue("version"), "2.0");
  const events = calendar.getAllSubcomponents("vevent").map((event) => new ICAL.Event(event));
  assert.ok(events.length > 24, `${events.length} events`);
  assert.equal(new Set(events.map((event) => event.uid)).size, events.length, "an id stands twice");
  for (const event of events) {
    assert.ok(event.component.hasProperty("dtstamp") && event.summary && event.uid, event.toString());
    if (event.startDate.isDate) assert.equal(event.duration.toSeconds(), 86_400, event.uid);
  }
  // The same days as the list of the yard says them.
  const yard = await (await ask("/api/v1/lists/yard")).json();
  const due = yard.find((row) => row.due_on);
  const first = events.filter((event) => event.summary.startsWith(`${due.machine}: `) && event.startDate.isDate);
  assert.equal(first.map((event) => event.startDate.toString()).sort()[0], due.due_on);
  const escaped = events.find((event) => event.description.includes(","));
  assert.ok(escaped && !escaped.description.includes("\\"), "a comma came back escaped");

  assert.equal((await ask(`/api/v1/calendars/${id}`, { method: "DELETE" })).status, 204);
  assert.equal((await ask(path)).status, 404);
});

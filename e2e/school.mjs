// The school's record with sign-in: nothing looked at yet, people of every role, a server that can be killed and come back.
import { execFileSync } from "node:child_process";
import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { PROGRAM, serve } from "./yard.mjs";

const OWNER = "Dot Fenwick";
const PASSWORD = "a few words with spaces";

/** Makes it and serves it. */
export async function school({ units = "si" } = {}) {
  const folder = mkdtempSync(join(tmpdir(), "muster-school-"));
  const yard = join(folder, "yard");
  cpSync(new URL("../data/demo/harrow-lane", import.meta.url), yard, { recursive: true });
  const file = join(yard, "yard.toml");
  writeFileSync(file, readFileSync(file, "utf8").replace('units = "si"', `units = "${units}"`));
  const record = join(folder, "record");
  execFileSync(PROGRAM, ["record", "new", record, "--from", yard, "--owner", OWNER], { input: `${PASSWORD}\n`, stdio: ["pipe", "ignore", "ignore"] });
  let server = await serve("--record", record);
  const { address } = server;

  const ask = async (path, body, token) => {
    const headers = { "content-type": "application/json", ...(token && { authorization: `Bearer ${token}` }) };
    const answer = await fetch(`${address}${path}`, { method: "POST", headers, body: JSON.stringify(body) });
    const text = await answer.text();
    if (!answer.ok) throw new Error(`${path}: ${answer.status} ${text}`);
    return text ? JSON.parse(text) : null;
  };
  const { token } = await ask("/api/v1/sign-in", { person: OWNER, password: PASSWORD });

  return {
    address,
    owner: OWNER,
    ask: (path, body) => ask(path, body, token),
    /** Adds a person who signs in by the same password. */
    async add(name, role) {
      const { person } = await ask("/api/v1/people", { name, role }, token);
      const { link } = await ask(`/api/v1/people/${person}/password`, {}, token);
      await ask("/api/v1/password", { code: link.split("#")[1], password: PASSWORD });
      return person;
    },
    /** Signs a page in. */
    async signIn(page, name = OWNER) {
      const answer = await page.request.post(`${address}/api/v1/sign-in`, { data: { person: name, password: PASSWORD } });
      if (!answer.ok()) throw new Error(await answer.text());
    },
    kill: () => server.stop("SIGKILL"),
    async again() {
      server = await serve("--record", record, "--listen", new URL(address).host);
    },
    async stop() {
      await server.stop();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

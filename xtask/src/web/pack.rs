//! Many modules in one file: a phone's line waits for each request, and a part may need forty modules.

use super::Needs;
use anyhow::{Context, ensure};
use std::collections::BTreeMap;

/// The part that every other one needs beside its own.
const PART: &str = "judge";
/// The file that holds its modules.
const FILE: &str = "judge.bin";
/// The file of what several other parts share.
const SHARED: &str = "shared.bin";
/// The script that fetches modules.
const LINK: &str = "__wasm_split.js";

/// Fetches a file once, and hands out a module of it as if it had been fetched by itself; each in a turn of its own, for a
/// browser looks a module through as it takes it, and forty at once would keep a slow phone from painting.
const PACKED: &str = r#"
const packs = {};
let turns = Promise.resolve();
const turn = () => turns = turns.then(() => new Promise((begins) => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = () => {
        port1.close();
        begins();
    };
    port2.postMessage(null);
}));
function packed(name, from, to) {
    const all = packs[name] ??= fetch(new URL(`./${name}`, import.meta.url)).then((answer) => answer.ok ? answer.arrayBuffer() : Promise.reject(new Error(`${name}: ${answer.status}`)));
    all.catch(() => { if (packs[name] === all) delete packs[name]; });
    return all.then(turn).then(() => all).then((bytes) => new Response(new Uint8Array(bytes, from, to - from), { headers: { "content-type": "application/wasm" } }));
}
"#;

/// Puts what judges into one file and what several parts share into another, and has the script take modules from there.
/// What a part then needs is named by files.
pub(super) fn pack(modules: &mut BTreeMap<String, Vec<u8>>, needs: &mut Needs) -> anyhow::Result<()> {
    let script = modules.remove(LINK).with_context(|| format!("{LINK} is not there"))?;
    let mut script = String::from_utf8(script).context("a script is not UTF-8")?;
    let judging = needs.get(PART).with_context(|| format!("no part is called {PART}"))?.clone();
    let shared = shared(needs, &judging);
    for (file, names) in [(FILE, &judging), (SHARED, &shared)] {
        let mut all = Vec::new();
        for name in names {
            let name = format!("{name}.wasm");
            let module = modules.remove(&name).with_context(|| format!("{name} is not there"))?;
            let (from, to) = (all.len(), all.len() + module.len());
            let fetched = format!("fetch(new URL(\"./{name}\", import.meta.url))");
            ensure!(script.contains(&fetched), "{LINK} does not fetch {name} as it did");
            script = script.replace(&fetched, &format!("packed(\"{file}\", {from}, {to})"));
            all.extend(module);
        }
        modules.insert(file.to_owned(), all);
    }
    let (imports, rest) = script.split_once('\n').context("an empty script")?;
    modules.insert(LINK.to_owned(), format!("{imports}\n{PACKED}{rest}").into_bytes());
    for (part, needed) in needs {
        let needs_shared = needed.iter().any(|name| shared.contains(name));
        needed.retain(|name| !judging.contains(name) && !shared.contains(name));
        needed.iter_mut().for_each(|name| name.push_str(".wasm"));
        if part == PART {
            needed.push(FILE.to_owned());
        }
        if needs_shared {
            needed.push(SHARED.to_owned());
        }
    }
    Ok(())
}

/// What more than one part needs, and what judges does not.
fn shared(needs: &Needs, judging: &[String]) -> Vec<String> {
    let mut parts = BTreeMap::<&String, usize>::new();
    let named = needs.values().flatten().filter(|name| !judging.contains(name));
    named.for_each(|name| *parts.entry(name).or_default() += 1);
    parts.into_iter().filter(|(_, parts)| *parts > 1).map(|(name, _)| name.clone()).collect()
}

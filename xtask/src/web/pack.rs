//! One file for all modules that a part needs: a phone's line waits for each request, and a part may need forty modules.

use super::Needs;
use anyhow::{Context, ensure};
use std::collections::BTreeMap;

/// The part that every other one needs beside its own.
const PART: &str = "judge";
/// The file that holds its modules.
pub(super) const FILE: &str = "judge.bin";
/// The script that fetches modules.
const LINK: &str = "__wasm_split.js";

/// Fetches the file once, and hands out a module of it as if it had been fetched by itself.
const PACKED: &str = r#"
let pack;
function packed(from, to) {
    pack ??= fetch(new URL("./judge.bin", import.meta.url)).then((answer) => answer.ok ? answer.arrayBuffer() : Promise.reject(new Error(`judge.bin: ${answer.status}`)));
    const all = pack;
    all.catch(() => { if (pack === all) pack = undefined; });
    return all.then((bytes) => new Response(bytes.slice(from, to), { headers: { "content-type": "application/wasm" } }));
}
"#;

/// Puts the modules of the part into one file, and has the script take them from there. What a part then needs is named by
/// files: that one, and the modules that are in no other.
pub(super) fn pack(modules: &mut BTreeMap<String, Vec<u8>>, needs: &mut Needs) -> anyhow::Result<()> {
    let packed = needs.get(PART).with_context(|| format!("no part is called {PART}"))?.clone();
    let script = modules.get(LINK).with_context(|| format!("{LINK} is not there"))?;
    let mut script = String::from_utf8(script.clone()).context("a script is not UTF-8")?;
    let mut all = Vec::new();
    for name in &packed {
        let name = format!("{name}.wasm");
        let module = modules.remove(&name).with_context(|| format!("{name} is not there"))?;
        let (from, to) = (all.len(), all.len() + module.len());
        let fetched = format!("fetch(new URL(\"./{name}\", import.meta.url))");
        ensure!(script.contains(&fetched), "{LINK} does not fetch {name} as it did");
        script = script.replace(&fetched, &format!("packed({from}, {to})"));
        all.extend(module);
    }
    let (imports, rest) = script.split_once('\n').context("an empty script")?;
    let script = format!("{imports}\n{PACKED}{rest}");
    modules.insert(LINK.to_owned(), script.into_bytes());
    modules.insert(FILE.to_owned(), all);
    for (part, needed) in needs {
        needed.retain(|name| !packed.contains(name));
        needed.iter_mut().for_each(|name| name.push_str(".wasm"));
        if part == PART {
            needed.push(FILE.to_owned());
        }
    }
    Ok(())
}

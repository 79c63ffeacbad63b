//! Runs the core in wasm beside the native one: same questions, byte for byte the same answers.

use crate::demonstration::Demonstration;
use crate::wasm;
use crate::workspace::Workspace;
use anyhow::{Context, ensure};
use brotli::enc::BrotliEncoderParams;
use serde_json::{Value, json};
use std::{fs, str};
use wasmi::{Engine, Instance, Linker, Memory, Module, Store};

/// A way into the core.
struct Door {
    /// Name of the module's export.
    export: &'static str,
    native: fn(&str) -> String,
    /// How an answer begins that refuses the question.
    refusal: &'static str,
}

const JUDGE: Door = Door { export: "judge", native: muster_core::answer_json, refusal: "{\"judgement\":null" };
const WALK_ROUND: Door =
    Door { export: "walk_round", native: muster_core::walk_round_json, refusal: "{\"walk_round\":null" };

/// The walk-rounds compared, by turns from machine to machine: parked overnight, before a ride; just ridden, in full.
const WALK_ROUNDS: &[(&str, &str, &str)] = &[("before-ride", "road", "cold"), ("full", "range", "warm")];

/// Questions nobody should ask: refused in the same words, too.
const REFUSED: &[(&str, &str)] = &[
    ("no JSON", "{"),
    ("no question", "{\"machine\": 3}"),
    ("an empty yard", EMPTY_YARD),
    ("an unknown depth", r#"{"walk_round": {"depth": "half"}}"#),
];
const EMPTY_YARD: &str = r#"{"machine": "H-01", "on": "2026-11-24T08:00:00+00:00", "yard": {}, "forms": {}}"#;

/// A rider opens the page at the gate, on a phone with poor signal: 245 kB take 5 s at 400 kbit/s, a slow 3G link (from
/// memory). With forty-seven checks it was 200 kB at most; the texts of the other eighty-five are most of the rest.
pub(crate) const MAX_BROTLI_BYTES: usize = 245_000;

/// Builds the module, compares its answers with the native ones for every machine of the demonstration, and reports
/// its size.
pub(crate) fn check(workspace: &Workspace) -> anyhow::Result<()> {
    let bytes = module(workspace)?;
    let module = Golden::new(&bytes)?;
    let demonstration = Demonstration::read(workspace)?;
    let mut complaints = Vec::new();
    let questions = demonstration.questions()?;
    ensure!(!questions.is_empty(), "the demonstration has no machines");
    for ((machine, question), (depth, one, heat)) in questions.iter().zip(WALK_ROUNDS.iter().cycle()) {
        complaints.extend(module.complaint(&JUDGE, machine, question, true)?);
        let question = walk_round(question, depth, one, heat)?;
        complaints.extend(module.complaint(&WALK_ROUND, &format!("{machine} {depth}"), &question, true)?);
    }
    for (name, question) in REFUSED {
        for door in [JUDGE, WALK_ROUND] {
            complaints.extend(module.complaint(&door, name, question, false)?);
        }
    }
    let size = Size::of(&bytes)?;
    println!("module: {} bytes, {} compressed (at most {MAX_BROTLI_BYTES})", size.raw, size.brotli);
    ensure!(complaints.is_empty(), "native and wasm differ:\n{}", complaints.join("\n"));
    println!(
        "{} machines judged and walked round, {} questions refused at both doors, the same bytes native and in wasm",
        questions.len(),
        REFUSED.len()
    );
    ensure!(
        size.brotli <= MAX_BROTLI_BYTES,
        "the module must be at most {MAX_BROTLI_BYTES} bytes compressed, is {}",
        size.brotli
    );
    Ok(())
}

/// The question for a walk-round of the machine another question is about.
fn walk_round(about: &str, depth: &str, one: &str, heat: &str) -> anyhow::Result<String> {
    let about: Value = serde_json::from_str(about).context("the question is not JSON")?;
    let found = json!({ "heat": heat, "power": "off", "stance": "side-stand" });
    Ok(json!({ "about": about, "walk_round": { "depth": depth, "use": one, "found": found } }).to_string())
}

/// Compresses as a server does once and for all.
pub(crate) fn brotli(bytes: &[u8]) -> anyhow::Result<Vec<u8>> {
    let parameters = BrotliEncoderParams { quality: 11, ..BrotliEncoderParams::default() };
    let mut compressed = Vec::new();
    brotli::BrotliCompress(&mut &*bytes, &mut compressed, &parameters).context("cannot compress")?;
    Ok(compressed)
}

/// Builds the core with its data for a browser and returns the module.
pub(crate) fn module(workspace: &Workspace) -> anyhow::Result<Vec<u8>> {
    let directory =
        wasm::build(workspace, wasm::Profile::Release, &["--package", "muster-core", "--example", "golden_wasm"])?;
    fs::read(directory.join("examples/golden_wasm.wasm")).context("cannot read the module")
}

/// How large a module is.
pub(crate) struct Size {
    pub(crate) raw: usize,
    /// What a browser transfers of it.
    pub(crate) brotli: usize,
}

impl Size {
    pub(crate) fn of(bytes: &[u8]) -> anyhow::Result<Self> {
        Ok(Self { raw: bytes.len(), brotli: brotli(bytes)?.len() })
    }
}

/// The module, ready to be asked.
struct Golden {
    engine: Engine,
    module: Module,
}

impl Golden {
    fn new(bytes: &[u8]) -> anyhow::Result<Self> {
        let engine = Engine::default();
        let module = Module::new(&engine, bytes).context("not a wasm module")?;
        Ok(Self { engine, module })
    }

    /// Says how the native and this answer differ, if they do.
    ///
    /// Fails where a question is not answered or refused as it should be.
    fn complaint(&self, door: &Door, name: &str, question: &str, answered: bool) -> anyhow::Result<Option<String>> {
        let (here, there) = ((door.native)(question), self.answer(door, question)?);
        ensure!(here.starts_with(door.refusal) != answered, "{}, {name}: {here}", door.export);
        Ok(difference(&here, &there).map(|difference| format!("{}, {name}: {difference}", door.export)))
    }

    /// Answers a request in an instance of its own, so that no request sees the memory of another.
    fn answer(&self, door: &Door, request: &str) -> anyhow::Result<String> {
        let mut store = Store::new(&self.engine, ());
        // no imports are linked: a core that reached for a clock or a file would not start
        let instance = Linker::new(&self.engine).instantiate_and_start(&mut store, &self.module)?;
        let memory = instance.get_memory(&store, "memory").context("the module exports no memory")?;
        let length = u32::try_from(request.len())?;
        let address = alloc(&mut store, &instance, length)?;
        memory.write(&mut store, address as usize, request.as_bytes()).context("request does not fit")?;
        let run = instance.get_typed_func::<(u32, u32), u64>(&store, door.export)?;
        let packed = run.call(&mut store, (address, length))?;
        read_reply(&store, memory, packed)
    }
}

fn alloc(store: &mut Store<()>, instance: &Instance, length: u32) -> anyhow::Result<u32> {
    let alloc = instance.get_typed_func::<u32, u32>(&*store, "alloc")?;
    Ok(alloc.call(store, length)?)
}

/// Reads the bytes at address << 32 | length.
fn read_reply(store: &Store<()>, memory: Memory, packed: u64) -> anyhow::Result<String> {
    let address = usize::try_from(packed >> 32)?;
    let length = usize::try_from(packed & u64::from(u32::MAX))?;
    let bytes = memory.data(store).get(address..address + length).context("the reply lies outside the memory")?;
    Ok(str::from_utf8(bytes).context("the reply is not UTF-8")?.to_owned())
}

/// Says where two replies part, if they do.
fn difference(native: &str, wasm: &str) -> Option<String> {
    if native == wasm {
        return None;
    }
    let same = native.bytes().zip(wasm.bytes()).take_while(|(here, there)| here == there).count();
    let around = |text: &str| {
        let bytes = text.as_bytes();
        let part = bytes.get(same.saturating_sub(30)..bytes.len().min(same + 30)).unwrap_or_default();
        String::from_utf8_lossy(part).into_owned()
    };
    Some(format!("from byte {same} on\n  native …{}…\n  wasm   …{}…", around(native), around(wasm)))
}

#[cfg(test)]
mod tests {
    use super::difference;

    #[test]
    fn a_difference_is_shown_where_it_starts() {
        assert_eq!(difference("same", "same"), None);
        let text = difference("{\"exp\":1}", "{\"exp\":2}").unwrap();
        assert!(text.starts_with("from byte 7 on"), "{text}");
        assert!(difference("longer", "long").is_some());
    }
}

//! Builds the app into `target/web`: from there the server embeds it, or reads it from disk in a debug build.

mod wording;

use crate::wasm::{self, Profile};
use crate::workspace::{Workspace, execute};
use anyhow::{Context, ensure};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

const CRATE: &str = "crates/muster-web";
/// Where the server looks, whatever directory cargo builds in.
const DIST: &str = "target/web";
/// What is loaded for the first screen: its compressed sum is held to a limit.
const FIRST: &[&str] = &[".html", ".js", ".wasm", ".css", "next-latin-wght-normal.woff2"];
/// Style sheets that become one, in this order.
const STYLES: &[&str] = &["app.css", "walk.css", "kerb.css", "desk.css", "people.css"];
/// Most bytes of the first screen, compressed.
const LIMIT: usize = 1_200_000;
/// What it should come to: how far off it is stands in docs/performance.md.
const WANTED: usize = 450_000;

/// How the app is built.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Build {
    /// As it is shipped: small, compressed, named by its hashes.
    Release,
    /// Quick to build and slow to load; never embedded.
    Dev,
}

/// Builds it.
pub(crate) fn build(workspace: &Workspace, how: Build) -> anyhow::Result<()> {
    let dev = how == Build::Dev;
    println!(
        "building the app for the browser: wasm{}",
        if dev { ", unoptimised" } else { ", a minute or two the first time" }
    );
    let profile = if dev { Profile::Dev } else { Profile::Release };
    let module = wasm::build(workspace, profile, &["--package", "muster-web"])?.join("muster-web.wasm");
    let glue = workspace.target("web-glue");
    let mut bindgen = wasm_bindgen_cli_support::Bindgen::new();
    bindgen.input_path(&module).web(true)?.typescript(false).omit_default_module_path(true).out_name("app");
    bindgen.remove_name_section(!dev).remove_producers_section(!dev).keep_debug(dev);
    bindgen.generate(&glue).context("cannot bind the app to the browser")?;
    let files = files(workspace, &glue, dev)?;
    let dist = workspace.path(DIST);
    if dist.exists() {
        fs::remove_dir_all(&dist)?;
    }
    for (name, bytes) in &files {
        let path = dist.join(name);
        fs::create_dir_all(path.parent().context("a file without a folder")?)?;
        fs::write(&path, bytes)?;
    }
    if dev { Ok(()) } else { compress(&dist, &files) }
}

/// Lints the app, and compares the messages it asks for with those that are written.
pub(crate) fn check(workspace: &Workspace) -> anyhow::Result<()> {
    wording::check(workspace)?;
    wasm::lint(workspace, "muster-web")
}

/// Builds the app and the server, serves the demonstration and opens it.
pub(crate) fn demo(workspace: &Workspace) -> anyhow::Result<()> {
    build(workspace, Build::Release)?;
    execute(&mut workspace.cargo(&["run", "--release", "--package", "muster", "--", "serve", "--open"]))
}

/// Every file by its name, what never changes named by its hash.
fn files(workspace: &Workspace, glue: &Path, dev: bool) -> anyhow::Result<BTreeMap<String, Vec<u8>>> {
    let folder = workspace.path(CRATE).join("static");
    let read = |name: &str| fs::read(folder.join(name)).with_context(|| format!("cannot read {name}"));
    let mut files = BTreeMap::new();
    let mut named = |stem: &str, extension: &str, bytes: Vec<u8>| {
        let name = if dev { format!("{stem}.{extension}") } else { format!("{stem}-{}.{extension}", hash(&bytes)) };
        files.insert(name.clone(), bytes);
        name
    };
    let script = named("app", "js", fs::read(glue.join("app.js"))?);
    let module = named("app", "wasm", fs::read(glue.join("app_bg.wasm"))?);
    let tokens = named("tokens", "css", read("tokens.css")?);
    let style = STYLES.iter().map(|name| read(name)).collect::<anyhow::Result<Vec<_>>>()?.concat();
    let style = named("app", "css", style);
    let names = [("{{JS}}", &script), ("{{WASM}}", &module), ("{{TOKENS}}", &tokens), ("{{STYLE}}", &style)];
    let filled = |text: Vec<u8>| -> anyhow::Result<String> {
        let mut text = String::from_utf8(text).context("a page is not UTF-8")?;
        for (mark, name) in names {
            text = text.replace(mark, name);
        }
        Ok(text)
    };
    let boot = filled(read("boot.js")?)?;
    let boot = named("boot", "js", boot.into_bytes());
    let page = filled(read("index.html")?)?.replace("{{BOOT}}", &boot);
    files.insert("index.html".to_owned(), page.into_bytes());
    for name in ["manifest.webmanifest", "icon.svg", "icon-180.png", "icon-512.png"] {
        files.insert(name.to_owned(), read(name)?);
    }
    for entry in fs::read_dir(folder.join("fonts"))? {
        let name = entry?.file_name().to_string_lossy().into_owned();
        if name.ends_with(".woff2") {
            files.insert(format!("fonts/{name}"), read(&format!("fonts/{name}"))?);
        }
    }
    let version = hash(&files.iter().flat_map(|(name, bytes)| [name.as_bytes(), bytes]).collect::<Vec<_>>().concat());
    let assets: Vec<String> = files
        .keys()
        .map(|name| if name == "index.html" { "\"/\"".to_owned() } else { format!("\"/{name}\"") })
        .collect();
    let worker = String::from_utf8(read("sw.js")?)?;
    let worker = worker.replace("{{VERSION}}", &version).replace("{{ASSETS}}", &format!("[{}]", assets.join(", ")));
    files.insert("sw.js".to_owned(), worker.into_bytes());
    // The server's build looks at this file alone: it changes whenever any does.
    files.insert("version".to_owned(), format!("{version}{}\n", if dev { " dev" } else { "" }).into_bytes());
    Ok(files)
}

fn compress(dist: &Path, files: &BTreeMap<String, Vec<u8>>) -> anyhow::Result<()> {
    let mut first = 0;
    for (name, bytes) in files.iter().filter(|(name, _)| !name.ends_with(".png") && *name != "version") {
        // Fonts are compressed already.
        let size = if name.ends_with(".woff2") {
            bytes.len()
        } else {
            let packed = crate::golden::brotli(bytes)?;
            fs::write(dist.join(format!("{name}.br")), &packed)?;
            packed.len()
        };
        if FIRST.iter().any(|end| name.ends_with(end)) && name != "sw.js" {
            println!("{name:58} {:>9} bytes, {size:>7} compressed", bytes.len());
            first += size;
        }
    }
    println!("first screen: {first} bytes compressed; wanted at most {WANTED}, allowed {LIMIT}");
    ensure!(first <= LIMIT, "the first screen is {first} bytes compressed, more than {LIMIT}");
    Ok(())
}

fn hash(bytes: &[u8]) -> String {
    muster_core::hash::of_bytes(bytes).chars().take(12).collect()
}

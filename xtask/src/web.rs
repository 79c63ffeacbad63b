//! Builds the app into `target/web`: from there the server embeds it, or reads it from disk in a debug build.

mod pack;
mod wording;

use crate::wasm::{self, Profile};
use crate::workspace::{Workspace, execute};
use anyhow::{Context, ensure};
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

const CRATE: &str = "crates/muster-web";
/// Where the server looks, whatever directory cargo builds in.
const DIST: &str = "target/web";
/// What is loaded for the first screen: its compressed sum is held to a limit.
const FIRST: &[&str] = &[
    "index.html",
    "boot.js",
    "tokens.css",
    "app.css",
    "app.js",
    "__wasm_split.js",
    "app_bg.wasm",
    "fonts/atkinson-hyperlegible-next-latin-wght-normal.woff2",
];
/// Style sheets that become one, in this order.
const STYLES: &[&str] = &["app.css", "walk.css", "kerb.css", "outing.css", "desk.css", "people.css"];
/// A section of a module that a browser passes over (WebAssembly core specification, 5.5.3).
const CUSTOM: u8 = 0;
/// Which modules each part needs.
type Needs = BTreeMap<String, Vec<String>>;
/// Most bytes of the first screen, compressed: what is loaded till verdicts are seen, which the server hands out at a
/// glance. What it should come to is 450 000; what is reached is held.
const LIMIT: usize = 350_000;

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
    let linked = compiled(workspace, profile)?;
    let glue = workspace.target("web-glue");
    if glue.exists() {
        fs::remove_dir_all(&glue)?;
    }
    let main = glue.join("main.wasm");
    let mut needs = split(&linked, &glue, &main)?;
    let mut bindgen = wasm_bindgen_cli_support::Bindgen::new();
    bindgen.input_path(&main).web(true)?.typescript(false).omit_default_module_path(true).out_name("app");
    // The parts are tied to the first load by what the linker exports.
    bindgen.keep_lld_exports(true);
    bindgen.remove_name_section(!dev).remove_producers_section(!dev).keep_debug(dev);
    bindgen.generate(&glue).context("cannot bind the app to the browser")?;
    fs::remove_file(&main)?;
    let mut modules = modules(&glue)?;
    pack::pack(&mut modules, &mut needs)?;
    let files = files(workspace, modules, dev)?;
    let dist = workspace.path(DIST);
    if dist.exists() {
        fs::remove_dir_all(&dist)?;
    }
    for (name, bytes) in &files {
        let path = dist.join(name);
        fs::create_dir_all(path.parent().context("a file without a folder")?)?;
        fs::write(&path, bytes)?;
    }
    if dev { Ok(()) } else { compress(&dist, &files, &needs) }
}

/// Splits the app at its parts: the first load in `main`, each other part and what parts share beside it.
/// Returns which modules each part needs.
fn split(linked: &Path, into: &Path, main: &Path) -> anyhow::Result<Needs> {
    let module = fs::read(linked).with_context(|| format!("cannot read {}", linked.display()))?;
    let mut options = wasm_split_cli_support::Options::new(&module);
    (options.output_dir, options.main_out_path, options.main_module) = (into, main, "./app.js");
    let done = wasm_split_cli_support::transform(options);
    let done = done.map_err(|fault| anyhow::anyhow!("cannot split the app: {fault:#}"))?;
    for path in &done.split_modules {
        let bare = bare(&fs::read(path)?).with_context(|| format!("{} is no module", path.display()))?;
        fs::write(path, bare)?;
    }
    Ok(done.prefetch_map.into_iter().collect())
}

/// Lints the app, compares the messages it asks for with those that are written, and builds it.
pub(crate) fn check(workspace: &Workspace) -> anyhow::Result<()> {
    wording::check(workspace)?;
    wasm::lint(workspace, "muster-web")?;
    compiled(workspace, Profile::Release).map(|_| ())
}

/// Compiles it, and returns its one module, still to be split.
fn compiled(workspace: &Workspace, profile: Profile) -> anyhow::Result<PathBuf> {
    Ok(wasm::build_to_split(workspace, profile, &["--package", "muster-web"])?.join("muster-web.wasm"))
}

/// Builds the app and the server, serves the demonstration and opens it.
pub(crate) fn demo(workspace: &Workspace, paper: bool) -> anyhow::Result<()> {
    build(workspace, Build::Release)?;
    let mut run = workspace.cargo(&["run", "--release", "--package", "muster"]);
    if !paper {
        run.arg("--no-default-features");
    }
    execute(run.args(["--", "serve", "--open"]))
}

/// A module without the names and notes in it, which are the greater half.
fn bare(module: &[u8]) -> Option<Vec<u8>> {
    let (head, mut rest) = module.split_at_checked(8)?;
    let mut out = head.to_vec();
    while let Some((&kind, after)) = rest.split_first() {
        let (size, width) = leb128(after)?;
        let (section, later) = rest.split_at_checked(1 + width + size)?;
        if kind != CUSTOM {
            out.extend_from_slice(section);
        }
        rest = later;
    }
    Some(out)
}

/// A number as WebAssembly writes it (core specification, 5.2.2), and its width in bytes.
fn leb128(bytes: &[u8]) -> Option<(usize, usize)> {
    let mut value = 0;
    for (at, byte) in bytes.iter().take(5).enumerate() {
        value |= usize::from(byte & 0x7f) << (7 * at);
        if byte & 0x80 == 0 {
            return Some((value, at + 1));
        }
    }
    None
}

/// Every file by its name, what never changes named by its hash.
fn files(
    workspace: &Workspace,
    modules: BTreeMap<String, Vec<u8>>,
    dev: bool,
) -> anyhow::Result<BTreeMap<String, Vec<u8>>> {
    let folder = workspace.path(CRATE).join("static");
    let read = |name: &str| fs::read(folder.join(name)).with_context(|| format!("cannot read {name}"));
    let mut files = BTreeMap::new();
    let mut named = |stem: &str, extension: &str, bytes: Vec<u8>| {
        let name = if dev { format!("{stem}.{extension}") } else { format!("{stem}-{}.{extension}", hash(&bytes)) };
        files.insert(name.clone(), bytes);
        name
    };
    let tokens = named("tokens", "css", read("tokens.css")?);
    let style = STYLES.iter().map(|name| read(name)).collect::<anyhow::Result<Vec<_>>>()?.concat();
    let style = named("app", "css", style);
    // The modules name each other, so the folder has the hash of them all.
    let app = if dev {
        "app".to_owned()
    } else {
        format!("app-{}", hash(&modules.values().flatten().copied().collect::<Vec<_>>()))
    };
    let names = [("{{APP}}", &app), ("{{TOKENS}}", &tokens), ("{{STYLE}}", &style)];
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
    let page = wording::spoken(workspace, &page)?;
    files.insert("index.html".to_owned(), page.into_bytes());
    files.extend(modules.into_iter().map(|(name, bytes)| (format!("{app}/{name}"), bytes)));
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

/// The script and the modules of the app.
fn modules(glue: &Path) -> anyhow::Result<BTreeMap<String, Vec<u8>>> {
    let mut modules = BTreeMap::new();
    for entry in fs::read_dir(glue)? {
        let path = entry?.path();
        if path.extension().is_some_and(|kind| kind == "js" || kind == "wasm") {
            let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
            modules.insert(name, fs::read(&path)?);
        }
    }
    Ok(modules)
}

fn compress(dist: &Path, files: &BTreeMap<String, Vec<u8>>, needs: &Needs) -> anyhow::Result<()> {
    let mut sizes = BTreeMap::new();
    for (name, bytes) in files.iter().filter(|(name, _)| !name.ends_with(".png") && *name != "version") {
        // Fonts are compressed already.
        let size = if name.ends_with(".woff2") {
            bytes.len()
        } else {
            let packed = crate::golden::brotli(bytes)?;
            fs::write(dist.join(format!("{name}.br")), &packed)?;
            packed.len()
        };
        sizes.insert(plain(name), (bytes.len(), size));
    }
    let mut first = 0;
    for &name in FIRST {
        let (bytes, size) = sizes.get(name).with_context(|| format!("{name} is not there"))?;
        println!("{name:58} {bytes:>9} bytes, {size:>7} compressed");
        first += size;
    }
    for (part, modules) in needs {
        let sizes = modules.iter().filter_map(|module| sizes.get(module));
        let (bytes, size) = sizes.fold((0, 0), |(bytes, size), of| (bytes + of.0, size + of.1));
        println!("later: {part:51} {bytes:>9} bytes, {size:>7} compressed, {} files", modules.len());
    }
    println!("first screen: {first} bytes compressed, at most {LIMIT}");
    ensure!(first <= LIMIT, "the first screen is {first} bytes compressed, more than {LIMIT}");
    Ok(())
}

/// A file's name without the hash in it, and without the folder of the modules.
fn plain(name: &str) -> String {
    let (folder, file) = name.rsplit_once('/').unwrap_or(("", name));
    match file.rsplit_once('-').and_then(|(stem, rest)| Some((stem, rest.split_once('.')?))) {
        _ if folder.starts_with("app") => file.to_owned(),
        Some((stem, (hash, kind))) if folder.is_empty() && hash.len() == 12 => format!("{stem}.{kind}"),
        _ => name.to_owned(),
    }
}

fn hash(bytes: &[u8]) -> String {
    muster_core::hash::of_bytes(bytes).chars().take(12).collect()
}

//! Writes the list of the demonstration yard's files, which the program carries; the catalogue is the core's own. Makes
//! the folder of the app where nobody has built it, so that the program builds without it.

use std::{
    env, fs, io,
    path::{Path, PathBuf},
};

fn main() -> io::Result<()> {
    let here = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").ok_or_else(|| io::Error::other("not run by cargo"))?);
    let out = PathBuf::from(env::var_os("OUT_DIR").ok_or_else(|| io::Error::other("not run by cargo"))?);
    let data = here.join("../../data").canonicalize()?;
    let yard = data.join("demo/harrow-lane");
    let mut demo = vec![yard.join("yard.toml"), yard.join("house.toml")];
    for folder in ["sheets", "machines", "forms"] {
        listed(&yard.join(folder), &mut demo)?;
    }
    let text = format!(
        "/// The demonstration yard's files.\npub(crate) const DEMO: &[(&str, &str)] = &{};\n",
        list(&yard, &demo)
    );
    println!("cargo::rerun-if-changed={}", yard.display());
    let app = here.join("../../target/web");
    fs::create_dir_all(&app)?;
    // Written anew whenever any file of the app is; a debug build reads the app from disk.
    if env::var_os("PROFILE").is_some_and(|profile| profile == "release") {
        println!("cargo::rerun-if-changed={}", app.join("version").display());
    }
    fs::write(out.join("embedded.rs"), text)
}

/// Adds a folder's TOML files in the order of their names.
fn listed(folder: &Path, into: &mut Vec<PathBuf>) -> io::Result<()> {
    let mut files =
        fs::read_dir(folder)?.map(|entry| entry.map(|entry| entry.path())).collect::<io::Result<Vec<_>>>()?;
    files.retain(|file| file.extension().is_some_and(|extension| extension == "toml"));
    files.sort();
    into.extend(files);
    Ok(())
}

/// The Rust text of a list of names and contents; names are relative to `root`, with forward slashes everywhere.
fn list(root: &Path, files: &[PathBuf]) -> String {
    let row = |file: &PathBuf| {
        let name = file.strip_prefix(root).unwrap_or(file).to_string_lossy().replace('\\', "/");
        format!("({name:?}, include_str!({:?})),", file.display().to_string())
    };
    format!("[{}]", files.iter().map(row).collect::<String>())
}

//! `muster start`: a commented yard to go on from.

use std::{fs, io, path::Path};

use anyhow::{Context as _, Result, bail};

use super::{MAY_GO, files, paper};

/// The files of the yard written, by their place in it.
const FILES: [(&str, &str); 4] = [
    ("yard.toml", include_str!("start/yard.toml")),
    ("house.toml", include_str!("start/house.toml")),
    ("sheets/my-model.toml", include_str!("start/my-model.toml")),
    ("machines/my-machine.toml", include_str!("start/my-machine.toml")),
];

/// Writes the yard.
///
/// # Errors
/// A folder that is there and not empty, or cannot be written; nothing is then left behind.
pub(crate) fn run(folder: &Path) -> Result<u8> {
    match fs::read_dir(folder).map(Iterator::count) {
        Ok(1..) => bail!("{} is not empty: name a folder that does not exist yet", folder.display()),
        Err(error) if error.kind() != io::ErrorKind::NotFound => {
            return Err(error).with_context(|| format!("{} cannot be a yard", folder.display()));
        }
        _ => {}
    }
    let was_there = folder.exists();
    if let Err(error) = write(folder) {
        // What is left of a failed start is of no use, and would stand in the way of the next one.
        let _removed = if was_there { clear(folder) } else { fs::remove_dir_all(folder) };
        return Err(error);
    }
    let names: String = FILES.iter().map(|(name, _)| format!("  {name}\n")).collect();
    paper::print(&format!(
        "Wrote a yard to {0}:\n{names}Fill what the comments ask for, then:\n  muster data {0}\n  muster yard --yard {0}\n",
        folder.display()
    ))?;
    Ok(MAY_GO)
}

fn write(folder: &Path) -> Result<()> {
    for sub in ["sheets", "machines", "forms"] {
        let sub = folder.join(sub);
        fs::create_dir_all(&sub).with_context(|| format!("{} cannot be made", sub.display()))?;
    }
    for (name, text) in FILES {
        files::write_new(&folder.join(name), text.as_bytes(), false)?;
    }
    Ok(())
}

/// Empties a folder that was there before.
fn clear(folder: &Path) -> io::Result<()> {
    for sub in ["sheets", "machines", "forms"] {
        let _gone = fs::remove_dir_all(folder.join(sub));
    }
    for (name, _) in FILES.iter().filter(|(name, _)| !name.contains('/')) {
        let _gone = fs::remove_file(folder.join(name));
    }
    Ok(())
}

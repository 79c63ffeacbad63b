//! What shells and manuals read: completions and the manual page.

use anyhow::Result;
use clap::CommandFactory;
use clap_complete::Shell;

use super::{Arguments, MAY_GO, paper};

/// Prints completions for a shell.
///
/// # Errors
/// What the output refuses.
pub(crate) fn completions(shell: Shell) -> Result<u8> {
    let mut out = Vec::new();
    clap_complete::generate(shell, &mut Arguments::command(), "muster", &mut out);
    paper::print(&String::from_utf8_lossy(&out))?;
    Ok(MAY_GO)
}

/// Prints the manual page.
///
/// # Errors
/// What the output refuses.
pub(crate) fn man() -> Result<u8> {
    let mut out = Vec::new();
    let command = Arguments::command();
    clap_mangen::Man::new(command.clone()).render(&mut out)?;
    for sub in command.get_subcommands() {
        let page = clap_mangen::Man::new(sub.clone().display_name(format!("muster {}", sub.get_name())));
        out.extend(format!("\n.SH \"MUSTER {}\"\n", sub.get_name().to_uppercase()).into_bytes());
        page.render_description_section(&mut out)?;
        page.render_options_section(&mut out)?;
        page.render_extra_section(&mut out)?;
    }
    paper::print(&String::from_utf8_lossy(&out))?;
    Ok(MAY_GO)
}

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
    let mut command = Arguments::command();
    // Fills each command with what all share.
    command.build();
    let whole = clap_mangen::Man::new(command.clone());
    whole.render_title(&mut out)?;
    whole.render_name_section(&mut out)?;
    whole.render_synopsis_section(&mut out)?;
    whole.render_description_section(&mut out)?;
    whole.render_options_section(&mut out)?;
    for sub in command.get_subcommands().filter(|sub| sub.get_name() != "help") {
        let name = sub.get_name();
        // Told once for all commands, above.
        let shared = |argument: clap::Arg| {
            let told = argument.is_global_set() || ["help", "version"].contains(&argument.get_id().as_str());
            if told { argument.hide(true) } else { argument }
        };
        let page = clap_mangen::Man::new(sub.clone().mut_args(shared));
        out.extend(format!("\n.SH \"MUSTER {}\"\n", name.to_uppercase()).into_bytes());
        page.render_description_section(&mut out)?;
        page.render_options_section(&mut out)?;
        page.render_extra_section(&mut out)?;
    }
    whole.render_extra_section(&mut out)?;
    whole.render_version_section(&mut out)?;
    paper::print(&String::from_utf8_lossy(&out))?;
    Ok(MAY_GO)
}

//! Installs Debian packages, where that is ours to do: on Debian, as root or with sudo.

use crate::suite::CannotRun;
use crate::workspace::{Workspace, execute};
use std::process::Command;

/// Installs packages, or says that this machine does not allow it.
pub(crate) fn install(workspace: &Workspace, packages: &[&str]) -> anyhow::Result<()> {
    let refused = || CannotRun("no way to install packages here: needs apt-get, as root or with sudo".to_owned());
    let rights = rights(workspace).ok_or_else(refused)?;
    execute(&mut apt_get(workspace, rights, &["update", "-qq"]))?;
    execute(apt_get(workspace, rights, &["install", "-y", "-qq", "--no-install-recommends"]).args(packages))
}

#[derive(Clone, Copy)]
enum Rights {
    Root,
    Sudo,
}

fn rights(workspace: &Workspace) -> Option<Rights> {
    if !workspace.answers("apt-get", &["--version"]) {
        return None;
    }
    let user = workspace.command("id").arg("-u").output().ok()?;
    if user.stdout.trim_ascii() == b"0" {
        return Some(Rights::Root);
    }
    // -n: a password prompt in the middle of a test run would be a hang
    workspace.answers("sudo", &["-n", "true"]).then_some(Rights::Sudo)
}

fn apt_get(workspace: &Workspace, rights: Rights, arguments: &[&str]) -> Command {
    let mut command = match rights {
        Rights::Root => {
            let mut command = workspace.command("apt-get");
            command.env("DEBIAN_FRONTEND", "noninteractive");
            command
        }
        Rights::Sudo => {
            let mut command = workspace.command("sudo");
            command.args(["-n", "DEBIAN_FRONTEND=noninteractive", "apt-get"]);
            command
        }
    };
    command.args(arguments);
    command
}

//! A real browser trusts the yard's own server once its authority is installed, and not before.

use crate::suite::CannotRun;
use crate::workspace::{Workspace, execute, read};
use crate::{debian, rust};
use anyhow::{Context, ensure};
use std::fs;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

/// The name the server goes by; it resolves nowhere, so the browser is told where it is.
const NAME: &str = "yard.local";

/// Starts a server with an authority of its own and looks at it with a browser: before and after installing.
pub(crate) fn check(workspace: &Workspace) -> anyhow::Result<()> {
    let browser = browser(workspace)?;
    let program = rust::program(workspace)?;
    let home = workspace.target("trust-home");
    let record = workspace.target("trust-record");
    for folder in [&home, &record] {
        if folder.exists() {
            fs::remove_dir_all(folder)?;
        }
    }
    fs::create_dir_all(home.join(".pki/nssdb"))?;
    let database = format!("sql:{}", home.join(".pki/nssdb").display());
    execute(workspace.command("certutil").args(["-d", &database, "-N", "--empty-password"]))?;
    let server = Server::start(&program, &record)?;
    let look = |address: &str| {
        let mut command = Command::new(&browser);
        command.env("HOME", &home).args([
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
        ]);
        command.args(["--disable-background-networking", "--disable-component-update", "--virtual-time-budget=8000"]);
        command.arg(format!("--host-resolver-rules=MAP {NAME} 127.0.0.1,MAP elsewhere.example 127.0.0.1"));
        command.args(["--dump-dom", address]).stderr(Stdio::null());
        read(&mut command)
    };
    let page = format!("http://{NAME}:{}/", server.trust);
    let health = format!("https://{NAME}:{}/health", server.https);
    let before = look(&page)?;
    ensure!(before.contains("data-state=\"not-trusted\""), "before installing, the page must say so:\n{before}");
    ensure!(!look(&health)?.contains("\"state\":\"well\""), "a server nobody trusts was read all the same");
    let authority = record.join("authority.pem");
    execute(
        workspace.command("certutil").args(["-d", &database, "-A", "-t", "C,,", "-n", "yard", "-i"]).arg(&authority),
    )?;
    let after = look(&page)?;
    ensure!(after.contains("data-state=\"trusted\""), "after installing, the page must say so:\n{after}");
    let well = look(&health)?;
    ensure!(well.contains("\"state\":\"well\""), "a trusted server was not read:\n{well}");
    let elsewhere = look(&format!("https://elsewhere.example:{}/health", server.https))?;
    ensure!(!elsewhere.contains("\"state\":\"well\""), "the authority vouched for a name it was not made for");
    Ok(())
}

/// Finds Chromium and what marks an authority as trusted, or installs them.
pub(crate) fn browser(workspace: &Workspace) -> anyhow::Result<PathBuf> {
    let found = || ["chromium", "chromium-browser"].into_iter().find(|name| workspace.answers(name, &["--version"]));
    if found().is_none() || !workspace.answers("certutil", &["-H"]) && !Path::new("/usr/bin/certutil").exists() {
        debian::install(workspace, &["chromium", "libnss3-tools"])?;
    }
    let name = found().ok_or_else(|| CannotRun("no Chromium: install it as `chromium`".to_owned()))?;
    Ok(PathBuf::from(name))
}

/// A server that ends with this value.
struct Server {
    child: Child,
    https: u16,
    trust: u16,
}

impl Server {
    fn start(program: &Path, record: &Path) -> anyhow::Result<Self> {
        let mut command = Command::new(program);
        command.args(["serve", "--https", "own", "--name", NAME, "--listen", "127.0.0.1:0", "--trust", "127.0.0.1:0"]);
        command.arg("--record").arg(record).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().context("cannot start the server")?;
        let (out, err) = (child.stdout.take().context("no output")?, child.stderr.take().context("no messages")?);
        let https = port(BufReader::new(out), "https://");
        let trust = port(BufReader::new(err), "http://");
        // Owned from here on, so that a failure ends it too.
        let mut server = Self { child, https: 0, trust: 0 };
        (server.https, server.trust) = (https?, trust?);
        Ok(server)
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        // It may have ended by itself; then there is nothing to end.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// The port of the first address printed with a scheme.
fn port(lines: impl BufRead, scheme: &str) -> anyhow::Result<u16> {
    for line in lines.lines() {
        let line = line?;
        let Some((_, rest)) = line.split_once(scheme) else { continue };
        let port = rest.split('/').next().and_then(|host| host.rsplit(':').next());
        return port.and_then(|port| port.parse().ok()).with_context(|| format!("no port in `{line}`"));
    }
    anyhow::bail!("the server ended without saying where it is")
}

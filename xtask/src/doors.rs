//! Asks the running demonstration's doors with requests made up from their own description, by an outside tool.

use crate::suite::CannotRun;
use crate::workspace::{Workspace, execute};
use anyhow::Context;
use std::io::{BufRead, BufReader};
use std::process::{Child, Stdio};

/// The tool, in the version its figures were made with: one that asks otherwise gives other figures.
const TOOL: &str = "schemathesis==4.32.5";

/// A stream without an end, which the tool would wait for.
const ENDLESS: &str = "/api/v1/news";

/// Printing, which this build cannot do and says so with 501.
const PRINTS: &str = "/api/v1/paper/{document}";

/// What the description cannot say: that the rules refuse a request which has the right form.
const NOT_ASKED: &str = "positive_data_acceptance";

/// Below what one address may ask, or most answers would only say so.
const RATE: &str = "80/s";

/// Runs the tool against the demonstration for some minutes; any failure of its checks is one.
pub(crate) fn ask(workspace: &Workspace, minutes: u32) -> anyhow::Result<()> {
    let tool = tool(workspace)?;
    execute(&mut workspace.cargo(&["build", "--release", "--package", "muster", "--no-default-features"]))?;
    let server = Server::start(workspace)?;
    let seconds = (u64::from(minutes) * 60).to_string();
    let mut run = workspace.command(&tool);
    run.args(["run", &format!("{}/api/v1/openapi.json", server.base), "--exclude-path", ENDLESS]);
    run.args(["--exclude-path", PRINTS, "--exclude-checks", NOT_ASKED, "--rate-limit", RATE, "--max-time", &seconds]);
    run.args(["--continue-on-failure", "--no-shrink", "--warnings", "off"]);
    // It leaves a folder of what it found where it runs.
    run.current_dir(workspace.target("schemathesis"));
    execute(&mut run)
}

/// Installs the tool into a place of its own in the build directory, if it is not there.
fn tool(workspace: &Workspace) -> anyhow::Result<String> {
    let place = workspace.target("schemathesis");
    let program = |name: &str| place.join("bin").join(name).display().to_string();
    let tool = program("schemathesis");
    if workspace.answers(&tool, &["--version"]) {
        return Ok(tool);
    }
    if !workspace.answers("python3", &["-c", "import venv, ensurepip"]) {
        return Err(CannotRun("no Python with venv: install python3 and python3-venv".to_owned()).into());
    }
    execute(workspace.command("python3").args(["-m", "venv"]).arg(&place))?;
    execute(workspace.command(&program("pip")).args(["install", "--quiet", TOOL]))?;
    Ok(tool)
}

/// The demonstration, served until this is dropped.
struct Server {
    program: Child,
    base: String,
}

impl Server {
    fn start(workspace: &Workspace) -> anyhow::Result<Self> {
        let program = workspace.target("release").join("muster");
        let mut command = workspace.command(&program.display().to_string());
        command.args(["serve", "--listen", "127.0.0.1:0"]).env("MUSTER_LOG", "warn").stdout(Stdio::piped());
        let mut program = command.spawn().context("cannot start the demonstration")?;
        let mut line = String::new();
        let out = program.stdout.as_mut().context("the demonstration has no output")?;
        let said = BufReader::new(out).read_line(&mut line);
        let server = Self { program, base: line.trim().trim_end_matches('/').to_owned() };
        said.context("the demonstration does not say where it is")?;
        Ok(server)
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        // It may have ended by itself.
        let _ = self.program.kill();
        let _ = self.program.wait();
    }
}

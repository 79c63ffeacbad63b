//! The program itself, serving a record's folder, asked by HTTP.

use std::{
    fs,
    io::{BufRead as _, BufReader},
    os::unix::{
        fs::{MetadataExt as _, PermissionsExt},
        process::CommandExt as _,
    },
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    time::Duration,
};

use muster::{
    keeper::{Opened, hex, taken},
    people::{names, session},
};
use muster_core::{
    calendar::Moment,
    record::{
        event::Entry,
        payload::{DeviceAdded, Payload, PersonAdded, Right, Role},
    },
};
use serde_json::Value;
use tempfile::TempDir;

use super::kit::person;
use crate::store::child;

/// A user who owns nothing.
const NOBODY: u32 = 65_534;

/// A record's folder with an owner, the little yard, and a session that was not used for a while.
pub(crate) struct Folder {
    pub(crate) token: String,
    whole: TempDir,
}

impl Folder {
    /// The record, begun; a phone's key may write in it.
    pub(crate) fn new(phone: Option<&muster::keeper::Device>) -> Self {
        let whole = TempDir::new().unwrap();
        let opened = Opened::made(&whole.path().join("record")).unwrap();
        let (keeper, owner, now) = (&opened.keeper, person("p-owner"), now());
        let name = names::sealed_anew(keeper, &owner, "Olive Gatehouse").unwrap();
        let added = |device, key, label: &str| DeviceAdded { device, key, label: label.into(), person: None };
        let mut payloads: Vec<Payload> = vec![
            PersonAdded { person: owner.clone(), name, role: Role::Owner, rights: Right::ALL.to_vec() }.into(),
            added(keeper.here(), hex(&keeper.public_key()), "the server").into(),
        ];
        payloads.extend(phone.map(|phone| added(phone.id(), hex(&phone.public()), "range phone").into()));
        payloads.extend(taken(&little_yard()).unwrap());
        keeper.begin(payloads, &owner, now).unwrap();
        // Its use is noted again at the next request: reading must not rest on that being written.
        let token = session::begin(&**keeper.store(), &owner, now.later_by(-3600)).unwrap();
        Self { token, whole }
    }

    pub(crate) fn path(&self) -> PathBuf {
        self.whole.path().join("record")
    }

    /// Serves it.
    pub(crate) fn serve(&self) -> Server {
        let mut command = Command::new(env!("CARGO_BIN_EXE_muster"));
        command.args(self.arguments());
        Server::start(command, &self.token)
    }

    /// Serves it with so many blocks of 512 bytes for a file: one that grows beyond them is an error, and no signal.
    pub(crate) fn serve_limited(&self, blocks: u32) -> Server {
        let mut command = Command::new("sh");
        command.args(["-c", &format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$0\" \"$@\"")]);
        command.arg(env!("CARGO_BIN_EXE_muster")).args(self.arguments());
        Server::start(command, &self.token)
    }

    /// Serves it as somebody who may do what the files' modes say and no more: another user, where this one may do all.
    pub(crate) fn serve_bound(&self) -> Server {
        let mode = |path: &Path| fs::set_permissions(path, PermissionsExt::from_mode(0o755)).unwrap();
        mode(self.whole.path());
        let program = self.whole.path().join("program");
        if !program.exists() {
            fs::copy(env!("CARGO_BIN_EXE_muster"), &program).unwrap();
            mode(&program);
        }
        let mut command = Command::new(&program);
        if fs::metadata(self.whole.path()).unwrap().uid() == 0 {
            command.uid(NOBODY).gid(NOBODY);
        }
        command.current_dir(self.whole.path()).args(self.arguments());
        Server::start(command, &self.token)
    }

    /// Gives folders and files these modes, and to whoever [`Self::serve_bound`] serves as.
    pub(crate) fn give(&self, path: &Path, folders: u32, files: u32) {
        if fs::metadata(self.whole.path()).unwrap().uid() == 0 {
            std::os::unix::fs::chown(path, Some(NOBODY), Some(NOBODY)).unwrap();
        }
        if path.is_dir() {
            fs::set_permissions(path, PermissionsExt::from_mode(0o755)).unwrap();
            for entry in fs::read_dir(path).unwrap() {
                self.give(&entry.unwrap().path(), folders, files);
            }
        }
        let mode = if path.is_dir() { folders } else { files };
        fs::set_permissions(path, PermissionsExt::from_mode(mode)).unwrap();
    }

    fn arguments(&self) -> Vec<String> {
        let folder = self.path().display().to_string();
        ["serve", "--record", &folder, "--listen", "127.0.0.1:0"].map(String::from).to_vec()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        self.give(self.whole.path(), 0o755, 0o644);
    }
}

/// The program, serving.
pub(crate) struct Server {
    program: Child,
    pub(crate) client: Client,
}

/// Asks a server's doors.
#[derive(Clone)]
pub(crate) struct Client {
    agent: ureq::Agent,
    base: String,
    token: String,
}

/// What was answered.
pub(crate) struct Answer {
    pub(crate) status: u16,
    pub(crate) kind: String,
    pub(crate) body: Value,
}

impl Server {
    fn start(mut command: Command, token: &str) -> Self {
        command.env("MUSTER_LOG", "off").env_remove("MUSTER_RECORD");
        command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::null());
        let mut program = child::start(command);
        let mut line = String::new();
        BufReader::new(program.stdout.as_mut().unwrap()).read_line(&mut line).unwrap();
        let base = line.trim().trim_end_matches('/').to_string();
        assert!(base.starts_with("http://127.0.0.1:"), "it says where it serves: `{line}`");
        let config = ureq::Agent::config_builder().http_status_as_error(false);
        let agent = config.timeout_global(Some(Duration::from_secs(30))).build().into();
        Self { program, client: Client { agent, base, token: token.into() } }
    }

    /// Kills it, as `kill -9` does.
    pub(crate) fn kill(mut self) {
        self.program.kill().unwrap();
        self.program.wait().unwrap();
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _gone = self.program.kill();
        let _ended = self.program.wait();
    }
}

impl Client {
    /// Asks; none if no whole answer came.
    pub(crate) fn ask(&self, method: &str, path: &str, body: Option<&[u8]>) -> Option<Answer> {
        let request = ureq::http::Request::builder().method(method).uri(format!("{}{path}", self.base));
        let request = request.header("authorization", format!("Bearer {}", self.token));
        let request = request.header("content-type", "application/json").body(body.unwrap_or_default().to_vec());
        let mut response = self.agent.run(request.unwrap()).ok()?;
        let kind = response.headers().get("content-type").and_then(|kind| kind.to_str().ok()).unwrap_or_default();
        let (status, kind) = (response.status().as_u16(), kind.to_string());
        let text = response.body_mut().with_config().limit(64 << 20).read_to_string().ok()?;
        let body = if text.is_empty() { Value::Null } else { serde_json::from_str(&text).ok()? };
        Some(Answer { status, kind, body })
    }

    /// Raises a finding; its event if that was acknowledged.
    pub(crate) fn raises(&self, what: &str) -> Result<String, Option<Answer>> {
        let payload = serde_json::json!({
            "machine": "M-01", "walk_round": null, "check": null, "what": what, "class": "minor", "uses": ["range"],
            "feedback": false,
        });
        let command = serde_json::json!({ "do": "write", "kind": "finding-raised", "payload": payload });
        match self.ask("POST", "/api/v1/commands", Some(command.to_string().as_bytes())) {
            Some(answer) if answer.status == 201 => Ok(answer.body["events"][0].as_str().unwrap().to_string()),
            other => Err(other),
        }
    }

    /// Every event's id that the server's log shows.
    pub(crate) fn log(&self) -> Vec<String> {
        let (mut after, mut found) = (0, Vec::new());
        loop {
            let page = self.ask("GET", &format!("/api/v1/record?after={after}&limit=500"), None).unwrap();
            assert_eq!(page.status, 200, "{}", page.body);
            let events = page.body["events"].as_array().unwrap().clone();
            if events.is_empty() {
                return found;
            }
            let id = |of: &Value| Entry::read(of["event"].as_str().unwrap()).unwrap().id.to_string();
            found.extend(events.iter().map(id));
            after = page.body["next"].as_u64().unwrap();
        }
    }
}

/// Now, as the server's own clock has it.
fn now() -> Moment {
    Moment::new(jiff::Timestamp::now(), jiff::tz::Offset::UTC)
}

fn little_yard() -> Vec<(String, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/yard");
    ["yard.toml", "house.toml", "sheets/pebble.toml", "machines/m-01.toml"]
        .map(|name| (name.to_string(), fs::read_to_string(root.join(name)).unwrap()))
        .to_vec()
}

//! A server in this process: the demonstration's yard with an invented owner, and a client for its doors.

use std::{collections::BTreeMap, fs, path::Path};

use axum::{
    Router,
    body::{Body, to_bytes},
    http::{Request, header},
};
use muster::{
    keeper::{Opened, hex, taken},
    serve::{App, Clock, Doors, router},
};
use muster_core::{
    calendar::Moment,
    record::{
        id::PersonId,
        payload::{DeviceAdded, Payload, PersonAdded, Right, Role},
        private::{PersonKey, Private},
    },
};
use serde_json::{Value, json};
use tempfile::TempDir;
use tokio::{runtime::Runtime, sync::watch};
use tower::ServiceExt as _;

/// The moment the tests are at.
pub(crate) fn now() -> Moment {
    Moment::parse("2026-11-24T08:00:00+00:00").unwrap()
}

/// An invented person.
pub(crate) fn person(id: &str) -> PersonId {
    id.parse().unwrap()
}

/// A person to add, with rights beyond the role's.
pub(crate) fn added(id: &str, role: Role, rights: &[Right]) -> Payload {
    let name = Private::seal(id, &person(id), "name", &PersonKey::new([7; 32]), [1; 24]).unwrap();
    PersonAdded { person: person(id), name, role, rights: rights.to_vec() }.into()
}

/// A record in a folder that goes when the test ends.
pub(crate) struct Place {
    pub(crate) opened: Opened,
    pub(crate) _folder: TempDir,
}

impl Place {
    /// One that holds nothing.
    pub(crate) fn empty() -> Self {
        let folder = TempDir::new().unwrap();
        Self { opened: Opened::made(folder.path()).unwrap(), _folder: folder }
    }

    /// The demonstration's yard, with people of every role.
    pub(crate) fn of_the_yard() -> Self {
        Self::of(&demo_files())
    }

    /// A yard's files, with people of every role.
    pub(crate) fn of(files: &[(String, String)]) -> Self {
        let place = Self::empty();
        let keeper = &place.opened.keeper;
        let mut payloads = vec![
            added("p-owner", Role::Owner, &[Right::Override]),
            DeviceAdded { device: keeper.here(), key: hex(&keeper.public_key()), label: "office".into(), person: None }
                .into(),
            added("p-workshop", Role::Workshop, &[]),
            added("p-instructor", Role::Instructor, &[]),
            added("p-rider", Role::Rider, &[]),
            added("p-auditor", Role::Auditor, &[]),
        ];
        payloads.extend(taken(files).unwrap());
        keeper.begin(payloads, &person("p-owner"), now()).unwrap();
        place
    }

    /// A client that acts as one person.
    pub(crate) fn client(&self, id: &str) -> Client {
        let (_close, closing) = watch::channel(false);
        let app = App::new(&self.opened, Doors::Demonstration(person(id)), Clock::Stands(now()), closing);
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
        Client { router: router(app), runtime }
    }
}

/// The demonstration's files, but for its forms.
pub(crate) fn demo_files() -> Vec<(String, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../data/demo/harrow-lane");
    let mut files = BTreeMap::new();
    for folder in ["", "sheets", "machines"] {
        for file in fs::read_dir(root.join(folder)).unwrap() {
            let path = file.unwrap().path();
            if path.extension().is_some_and(|extension| extension == "toml") {
                let name = path.strip_prefix(&root).unwrap().display().to_string();
                files.insert(name, fs::read_to_string(&path).unwrap());
            }
        }
    }
    files.into_iter().collect()
}

/// Asks a server's doors.
pub(crate) struct Client {
    router: Router,
    runtime: Runtime,
}

impl Client {
    /// Asks one question: status, headers by name, body.
    pub(crate) fn send(&self, request: Request<Body>) -> (u16, BTreeMap<String, String>, Vec<u8>) {
        self.runtime.block_on(async {
            let response = self.router.clone().oneshot(request).await.unwrap();
            let status = response.status().as_u16();
            let header = |(name, value): (&header::HeaderName, &header::HeaderValue)| {
                (name.to_string(), value.to_str().unwrap_or_default().to_string())
            };
            let headers = response.headers().iter().map(header).collect();
            let body = to_bytes(response.into_body(), 64 << 20).await.unwrap();
            (status, headers, body.to_vec())
        })
    }

    /// Asks with JSON, and reads JSON.
    pub(crate) fn ask(&self, method: &str, path: &str, body: Option<&Value>) -> (u16, Value) {
        let request = Request::builder().method(method).uri(path).header(header::CONTENT_TYPE, "application/json");
        let (status, _, bytes) =
            self.send(request.body(body.map_or_else(Body::empty, |body| Body::from(body.to_string()))).unwrap());
        (status, serde_json::from_slice(&bytes).unwrap_or(Value::Null))
    }

    /// Sends bytes of a kind.
    pub(crate) fn posts(&self, path: &str, kind: &str, body: &[u8]) -> (u16, BTreeMap<String, String>, Vec<u8>) {
        let request = Request::builder().method("POST").uri(path).header(header::CONTENT_TYPE, kind);
        self.send(request.body(Body::from(body.to_vec())).unwrap())
    }

    /// What a door shows.
    pub(crate) fn get(&self, path: &str) -> Value {
        let (status, body) = self.ask("GET", path, None);
        assert_eq!(status, 200, "{path}: {body}");
        body
    }

    /// Gives a command: the first event it wrote.
    pub(crate) fn does(&self, command: &Value) -> String {
        let (status, body) = self.ask("POST", "/api/v1/commands", Some(command));
        assert_eq!(status, 201, "{command}: {body}");
        body["events"][0].as_str().unwrap().to_string()
    }

    /// Gives a command that is refused: status and detail.
    pub(crate) fn refused(&self, command: &Value) -> (u16, String) {
        let (status, body) = self.ask("POST", "/api/v1/commands", Some(command));
        assert!(status >= 400, "{command}: {body}");
        (status, body["detail"].as_str().unwrap_or_default().to_string())
    }

    /// Writes an event of a kind.
    pub(crate) fn writes(&self, kind: &str, payload: &Value) -> String {
        self.does(&json!({ "do": "write", "kind": kind, "payload": payload }))
    }
}

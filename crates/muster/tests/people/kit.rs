//! A yard with one person of each role, its doors with sign-in, a clock the test sets, and a phone that signs.

use std::{cell::Cell, collections::BTreeMap, net::SocketAddr};

use axum::{
    Router,
    body::{Body, to_bytes},
    extract::ConnectInfo,
    http::{Request, header},
};
use muster::{
    keeper::{Device, Keeper, Opened, hex, taken},
    people::{feedback, names, password, session},
    serve::{App, Clock, Doors, router},
    store::Account,
};
use muster_core::{
    calendar::Moment,
    record::{
        event::{Entry, Signed},
        heads::Frontier,
        id::PersonId,
        payload::{DeviceAdded, Payload, PersonAdded, Right, Role},
    },
};
use serde_json::Value;
use tempfile::TempDir;
use tokio::{runtime::Runtime, sync::watch};
use tower::ServiceExt as _;

use crate::server::kit::demo_files;

/// A password hashed as cheaply as it goes, for tests that ask what becomes of it and not what it costs.
pub(crate) const PHRASE: &str = "four plain words here";

thread_local! { static LATER_S: Cell<i64> = const { Cell::new(0) }; }

/// The moment the test is at.
pub(crate) fn now() -> Moment {
    Moment::parse("2026-11-24T08:00:00+00:00").unwrap().later_by(LATER_S.get())
}

/// Lets time pass.
pub(crate) fn pass(seconds: i64) {
    LATER_S.set(LATER_S.get() + seconds);
}

/// A question to a door.
#[derive(Clone, Copy, Default)]
pub(crate) struct Ask<'a> {
    pub(crate) token: Option<&'a str>,
    pub(crate) from: Option<&'a str>,
    pub(crate) headers: &'a [(&'a str, &'a str)],
}

/// What was answered.
pub(crate) struct Answer {
    pub(crate) status: u16,
    pub(crate) headers: BTreeMap<String, String>,
    pub(crate) body: Value,
    pub(crate) text: String,
}

/// A yard behind doors with sign-in.
pub(crate) struct Yard {
    pub(crate) opened: Opened,
    router: Router,
    runtime: Runtime,
    _folder: TempDir,
}

impl Yard {
    /// One that nobody has begun.
    pub(crate) fn empty(doors: Doors) -> Self {
        LATER_S.set(0);
        let folder = TempDir::new().unwrap();
        let opened = Opened::made(folder.path()).unwrap();
        let router = Self::doors(&opened, doors);
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
        Self { opened, router, runtime, _folder: folder }
    }

    /// The demonstration's machines with one invented person of each role.
    pub(crate) fn new() -> Self {
        let yard = Self::empty(Doors::SignIn { https: true });
        let keeper = &yard.opened.keeper;
        let owner = person(Role::Owner);
        let added = |id: &PersonId, role: Role, name: &str| -> Payload {
            let name = names::sealed_anew(keeper, id, name).unwrap();
            PersonAdded { person: id.clone(), name, role, rights: Right::ALL.to_vec() }.into()
        };
        let (device, key) = (keeper.here(), hex(&keeper.public_key()));
        let mut payloads = vec![
            added(&owner, Role::Owner, "Olive Gatehouse"),
            DeviceAdded { device, key, label: "the server".into(), person: None }.into(),
            added(&person(Role::Workshop), Role::Workshop, "Wim Spannerby"),
            added(&person(Role::Instructor), Role::Instructor, "Ida Coneslalom"),
            added(&person(Role::Rider), Role::Rider, "Rory Firstgear"),
            added(&person(Role::Auditor), Role::Auditor, "Ada Ledgerwell"),
            added(&spare(), Role::Instructor, "Sam Spareman"),
            added(&feedback::person(), Role::Rider, feedback::NAME),
        ];
        payloads.extend(taken(&demo_files()).unwrap());
        keeper.begin(payloads, &owner, now()).unwrap();
        yard
    }

    fn doors(opened: &Opened, doors: Doors) -> Router {
        let (_close, closing) = watch::channel(false);
        router(App::new(opened, doors, Clock::Told(now), closing))
    }

    /// The same record behind other doors, or with what was set meanwhile.
    pub(crate) fn opened_anew(&mut self, doors: Doors) {
        self.router = Self::doors(&self.opened, doors);
    }

    pub(crate) fn keeper(&self) -> &Keeper {
        &self.opened.keeper
    }

    /// A session of a person, begun without a password.
    pub(crate) fn token(&self, person: &PersonId) -> String {
        session::begin(&**self.keeper().store(), person, now()).unwrap()
    }

    /// Gives a person a password.
    pub(crate) fn gives_password(&self, person: &PersonId, phrase: &str) {
        let cost = password::Cost { memory_kib: 32, passes: 1, lanes: 1 };
        let account = Account { phc: password::hash(phrase, cost).unwrap(), failed: 0, blocked_until: None };
        self.keeper().store().put_account(person, &account).unwrap();
    }

    /// Asks a door.
    pub(crate) fn ask(&self, of: Ask<'_>, method: &str, path: &str, body: Option<&Value>) -> Answer {
        let kind = body.map(|_| "application/json");
        self.send(of, (method, path), (kind, body.map(ToString::to_string)))
    }

    /// Sends a table as a person.
    pub(crate) fn takes(&self, who: &PersonId, path: &str, table: &str) -> Answer {
        let token = self.token(who);
        let of = Ask { token: Some(&token), ..Ask::default() };
        self.send(of, ("POST", path), (Some("text/csv"), Some(table.to_string())))
    }

    fn send(&self, of: Ask<'_>, (method, path): (&str, &str), (kind, body): (Option<&str>, Option<String>)) -> Answer {
        let mut request = Request::builder().method(method).uri(path);
        if let Some(kind) = kind {
            request = request.header(header::CONTENT_TYPE, kind);
        }
        if let Some(token) = of.token {
            request = request.header(header::AUTHORIZATION, format!("Bearer {token}"));
        }
        for (name, value) in of.headers {
            request = request.header(*name, *value);
        }
        if let Some(from) = of.from {
            request = request.extension(ConnectInfo(SocketAddr::new(from.parse().unwrap(), 40_000)));
        }
        let request = request.body(body.map_or_else(Body::empty, Body::from)).unwrap();
        self.runtime.block_on(async {
            let response = self.router.clone().oneshot(request).await.unwrap();
            let status = response.status().as_u16();
            let header = |(name, value): (&header::HeaderName, &header::HeaderValue)| {
                (name.to_string(), value.to_str().unwrap_or_default().to_string())
            };
            let headers: BTreeMap<String, String> = response.headers().iter().map(header).collect();
            // A stream of news has no end to wait for.
            let endless = headers.get("content-type").is_some_and(|kind| kind.starts_with("text/event-stream"));
            let bytes =
                if endless { Vec::new() } else { to_bytes(response.into_body(), 64 << 20).await.unwrap().to_vec() };
            let text = String::from_utf8_lossy(&bytes).into_owned();
            Answer { status, headers, body: serde_json::from_slice(&bytes).unwrap_or(Value::Null), text }
        })
    }

    /// Asks as a person; the answer has to be of this status.
    #[expect(clippy::too_many_arguments, reason = "who, what, and what comes of it read best in one line")]
    pub(crate) fn asks(&self, who: &PersonId, method: &str, path: &str, body: &Value, status: u16) -> Value {
        let token = self.token(who);
        let body = (!body.is_null()).then_some(body);
        let answer = self.ask(Ask { token: Some(&token), ..Ask::default() }, method, path, body);
        assert_eq!(answer.status, status, "{method} {path} by {who}: {}", answer.text);
        answer.body
    }

    /// Asks as nobody; the answer has to be of this status.
    pub(crate) fn stranger_asks(&self, method: &str, path: &str, body: &Value, status: u16) -> Value {
        let body = (!body.is_null()).then_some(body);
        let answer = self.ask(Ask::default(), method, path, body);
        assert_eq!(answer.status, status, "{method} {path} by nobody: {}", answer.text);
        answer.body
    }

    /// Runs a future.
    pub(crate) fn waits<T>(&self, of: impl Future<Output = T>) -> T {
        self.runtime.block_on(of)
    }
}

/// The person of a role.
pub(crate) fn person(role: Role) -> PersonId {
    format!("p-{role}").parse().unwrap()
}

/// An instructor more, to be changed and erased.
pub(crate) fn spare() -> PersonId {
    "p-spare".parse().unwrap()
}

/// A phone with a key of its own.
pub(crate) struct Phone {
    pub(crate) device: Device,
    frontier: Frontier,
}

impl Phone {
    /// One that has seen all that is held.
    pub(crate) fn beside(keeper: &Keeper, seed: u8) -> Self {
        let device = Device::of_seed(&[seed; 32]);
        let heads = keeper.store().heads().unwrap();
        let ends = heads.iter().map(|head| (head.device, keeper.store().series_end(head.device).unwrap().unwrap()));
        let frontier = Frontier::resume(device.id(), ends);
        Self { device, frontier }
    }

    /// Writes an event in a person's name.
    pub(crate) fn writes(&mut self, author: &PersonId, payload: Payload) -> Signed {
        let event = self.frontier.next(self.device.id(), author.clone(), now(), payload);
        let bytes = event.to_bytes().unwrap();
        self.frontier.note(self.device.id(), &Entry::read(&bytes).unwrap());
        self.device.sign(bytes)
    }

    pub(crate) fn key(&self) -> String {
        hex(&self.device.public())
    }
}

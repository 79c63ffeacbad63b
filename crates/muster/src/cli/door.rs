//! The way to a record: the folder's, through the server's own router in this process, or a server's, over the network.
//! Either way the same doors are asked, so that whatever the server does the command line does.

use std::{env, fs, path::PathBuf, time::Duration};

use anyhow::{Context as _, Result, bail};
use axum::{
    Router,
    body::{Body, to_bytes},
    http::{Method, Request, header},
};
use clap::Args;
use muster::{
    keeper::Opened,
    serve::{App, Clock, Doors, problem::Problem, router},
};
use muster_core::record::{id::PersonId, payload::Role};
use serde_json::Value;
use tokio::runtime::{Builder, Runtime};
use tower::ServiceExt as _;

/// The largest answer read, in bytes.
const MAX_ANSWER: usize = 64 << 20;
/// How long a server may take to answer.
const PATIENCE: Duration = Duration::from_secs(60);

/// Which record, and who asks.
#[derive(Args, Clone, Debug)]
#[command(next_help_heading = "The record")]
pub(crate) struct Where {
    /// Folder of the record
    #[arg(long, env = "MUSTER_RECORD", value_name = "DIR", conflicts_with = "server")]
    pub(crate) record: Option<PathBuf>,
    /// Address of a server that keeps it: https://muster.local:8443
    #[arg(long, env = "MUSTER_SERVER", value_name = "URL")]
    pub(crate) server: Option<String>,
    /// Who asks, for a folder's record; without it its only owner
    #[arg(long = "as", env = "MUSTER_AS", value_name = "PERSON", conflicts_with = "server")]
    pub(crate) person: Option<PersonId>,
    /// Certificate of the authority to trust, for a server with its own
    #[arg(long, env = "MUSTER_CA", value_name = "FILE", requires = "server")]
    pub(crate) ca: Option<PathBuf>,
}

/// A record to ask.
pub(crate) enum Door {
    /// A folder's.
    Here {
        /// The router, with nobody but this person before it.
        router: Router,
        /// Runs it.
        runtime: Runtime,
        /// Keeps the folder.
        _opened: Opened,
    },
    /// A server's.
    There {
        /// Speaks HTTP.
        agent: ureq::Agent,
        /// Its address.
        base: String,
        /// A session's token, if one signed in.
        token: Option<String>,
    },
}

/// What was answered.
#[derive(Debug)]
pub(crate) struct Answer {
    /// The HTTP status.
    pub(crate) status: u16,
    /// The body.
    pub(crate) body: String,
}

impl Answer {
    /// The body as JSON.
    ///
    /// # Errors
    /// A problem's detail, or a body that is no JSON.
    pub(crate) fn json(self) -> Result<Value> {
        if self.status >= 400 {
            match serde_json::from_str::<Problem>(&self.body) {
                Ok(problem) => bail!("{}", problem.detail),
                Err(_) => bail!("the server answered {}: is it a record's address?", self.status),
            }
        }
        if self.body.is_empty() {
            return Ok(Value::Null);
        }
        serde_json::from_str(&self.body).context("the answer is no JSON: is it a record's address?")
    }
}

impl Where {
    /// Opens the way.
    ///
    /// # Errors
    /// No record named, a folder that cannot be opened, nobody to ask as.
    pub(crate) fn open(&self) -> Result<Door> {
        match (&self.record, &self.server) {
            (Some(folder), _) => {
                let opened = Opened::existing(folder)?;
                let person = self.person(&opened)?;
                let (_close, closing) = tokio::sync::watch::channel(false);
                let app = App::new(&opened, Doors::Demonstration(person), Clock::Own, closing);
                let runtime = Builder::new_current_thread().enable_all().build()?;
                Ok(Door::Here { router: router(app), runtime, _opened: opened })
            }
            (None, Some(server)) => {
                let agent = self.agent()?;
                let base = server.trim_end_matches('/').to_string();
                Ok(Door::There { agent, token: super::sign_in::token(&base)?, base })
            }
            (None, None) => bail!("say which record: --record DIR, or --server URL"),
        }
    }

    /// Who asks, for a folder's record.
    ///
    /// # Errors
    /// Several owners or none, and nobody named.
    pub(crate) fn person(&self, opened: &Opened) -> Result<PersonId> {
        let state = opened.keeper.known().state;
        if let Some(person) = &self.person {
            return Ok(person.clone());
        }
        let owns = |role: Option<Role>| role == Some(Role::Owner);
        let mut owners =
            state.people.iter().filter(|(_, of)| owns(of.standing().filter(|of| of.active).map(|of| of.role)));
        match (owners.next(), owners.next()) {
            (Some((only, _)), None) => Ok(only.clone()),
            (Some(_), Some(_)) => bail!("the record has several owners: say who you are with --as"),
            _ => bail!("the record has no owner yet: begin it with `muster record new`"),
        }
    }

    fn agent(&self) -> Result<ureq::Agent> {
        let mut tls = ureq::tls::TlsConfig::builder();
        if let Some(path) = &self.ca {
            let pem = fs::read(path).with_context(|| format!("cannot read {}", path.display()))?;
            let certificate = ureq::tls::Certificate::from_pem(&pem)
                .with_context(|| format!("{} holds no certificate", path.display()))?;
            tls = tls.root_certs(ureq::tls::RootCerts::from(vec![certificate]));
        }
        let config = ureq::Agent::config_builder()
            .tls_config(tls.build())
            .http_status_as_error(false)
            .timeout_global(Some(PATIENCE))
            .build();
        Ok(config.into())
    }
}

impl Door {
    /// Asks one question.
    ///
    /// # Errors
    /// A server that cannot be reached, an answer that cannot be read.
    pub(crate) fn ask(&self, method: &str, path: &str, body: Option<&Value>) -> Result<Answer> {
        self.send((method, path), ("application/json", body.map_or_else(String::new, ToString::to_string)))
    }

    /// Sends a text of some kind.
    ///
    /// # Errors
    /// As for [`Self::ask`].
    pub(crate) fn send(&self, what: (&str, &str), body: (&str, String)) -> Result<Answer> {
        let (status, bytes) = self.fetch(what, (body.0, body.1.into_bytes()))?;
        Ok(Answer { status, body: String::from_utf8_lossy(&bytes).into_owned() })
    }

    /// Sends bytes of some kind; the answer's status and bytes.
    ///
    /// # Errors
    /// As for [`Self::ask`].
    pub(crate) fn fetch(&self, (method, path): (&str, &str), (kind, body): (&str, Vec<u8>)) -> Result<(u16, Vec<u8>)> {
        match self {
            Self::Here { router, runtime, .. } => {
                let request = Request::builder()
                    .method(Method::from_bytes(method.as_bytes()).context("no such method")?)
                    .uri(path)
                    .header(header::CONTENT_TYPE, kind)
                    .body(Body::from(body))
                    .context("no such path")?;
                runtime.block_on(async {
                    let response = router.clone().oneshot(request).await?;
                    let status = response.status().as_u16();
                    Ok((status, to_bytes(response.into_body(), MAX_ANSWER).await?.to_vec()))
                })
            }
            Self::There { agent, base, token } => {
                let mut request = Request::builder().method(method).uri(format!("{base}{path}"));
                if let Some(token) = token {
                    request = request.header(header::AUTHORIZATION, format!("Bearer {token}"));
                }
                let request = request.header(header::CONTENT_TYPE, kind).body(body).context("no such path")?;
                let mut response = agent.run(request).with_context(|| format!("cannot reach {base}"))?;
                let status = response.status().as_u16();
                let body = response.body_mut().with_config().limit(MAX_ANSWER as u64).read_to_vec()?;
                Ok((status, body))
            }
        }
    }

    /// Asks for a text.
    ///
    /// # Errors
    /// As for [`Self::ask`], and what the record refuses.
    pub(crate) fn text(&self, path: &str) -> Result<String> {
        let answer = self.ask("GET", path, None)?;
        if answer.status < 400 { Ok(answer.body) } else { answer.json().map(|_| String::new()) }
    }

    /// Asks for JSON.
    ///
    /// # Errors
    /// As for [`Self::ask`], and what the record refuses.
    pub(crate) fn get(&self, path: &str) -> Result<Value> {
        self.ask("GET", path, None)?.json()
    }

    /// Gives a command and returns the events it wrote.
    ///
    /// # Errors
    /// As for [`Self::ask`], and what the record refuses.
    pub(crate) fn command(&self, command: &Value) -> Result<Vec<String>> {
        let answer = self.ask("POST", "/api/v1/commands", Some(command))?.json()?;
        let events = answer.get("events").and_then(Value::as_array).cloned().unwrap_or_default();
        Ok(events.iter().filter_map(|event| event.as_str().map(ToString::to_string)).collect())
    }
}

/// A text as it stands in an address: what is not plain is written by its octets (RFC 3986, section 2.1).
pub(crate) fn in_path(text: &str) -> String {
    let plain = |byte: u8| byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'.' | b'_' | b'~');
    text.bytes().map(|byte| if plain(byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") }).collect()
}

/// The folder a person's sessions are kept in.
pub(crate) fn config_folder() -> Option<PathBuf> {
    let own = env::var_os("XDG_CONFIG_HOME").map(PathBuf::from).filter(|path| path.is_absolute());
    let home = env::var_os("HOME").map(|home| PathBuf::from(home).join(".config"));
    own.or(home).map(|folder| folder.join("muster"))
}

//! `muster serve`: the record for phones and desks.

use std::{
    fs,
    io::IsTerminal as _,
    net::{IpAddr, Ipv4Addr, SocketAddr},
    path::{Path, PathBuf},
};

use anyhow::{Context as _, Result, bail};
use clap::{Args, ValueEnum};
use jiff::Timestamp;
use muster::{
    keeper::Opened,
    people::first,
    serve::{Addresses, Certificate, Clock, Doors, Site, authority, trust},
};
use tokio::runtime::Builder;
use tracing_subscriber::EnvFilter;

use super::{MAY_GO, paper::note, record_new, site::now};

/// Where the server listens, unless it is told otherwise.
const PORT: u16 = 7070;
/// Where the page about trusting it is, unless it is told otherwise.
const TRUST_PORT: u16 = 7071;

/// How the server is run.
#[derive(Args, Debug)]
pub(crate) struct Serve {
    /// Folder of the record, made on first run; without it the demonstration, forgotten when it ends
    #[arg(long, env = "MUSTER_RECORD", value_name = "DIR")]
    record: Option<PathBuf>,
    /// Folder to keep the demonstration's story in, so that the next start need not make it anew
    #[arg(long, value_name = "DIR", conflicts_with = "record")]
    told: Option<PathBuf>,
    /// Where to listen; without it loopback, or with HTTPS every address of this machine
    #[arg(long, value_name = "ADDRESS:PORT")]
    listen: Option<SocketAddr>,
    /// How phones can trust it
    #[arg(long, value_name = "HOW", default_value = "off")]
    https: Https,
    /// Names phones reach it by, for its own authority; without them those this machine has
    #[arg(long = "name", value_name = "NAME", requires = "https")]
    names: Vec<String>,
    /// The certificate's chain as PEM, for --https given
    #[arg(long, value_name = "FILE", requires = "key")]
    certificate: Option<PathBuf>,
    /// Its key as PEM
    #[arg(long, value_name = "FILE", requires = "certificate")]
    key: Option<PathBuf>,
    /// Where the page about trusting the server listens, for --https own
    #[arg(long, value_name = "ADDRESS:PORT")]
    trust: Option<SocketAddr>,
    /// Opens the app in this machine's browser
    #[arg(long)]
    open: bool,
    /// How its log is written
    #[arg(long, value_name = "HOW", default_value = "text")]
    log: Log,
}

/// How phones can trust the server.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Https {
    /// Plain HTTP: for this machine, or behind a server of its own that speaks HTTPS.
    Off,
    /// By an authority of the yard's own, which people install once.
    Own,
    /// By a certificate that is given.
    Given,
}

/// How the log is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Log {
    /// For people.
    Text,
    /// One JSON object a line.
    Json,
}

/// Serves till it is told to stop.
///
/// # Errors
/// A record that cannot be opened, an address or a certificate that cannot be used.
pub(crate) fn run(asked: &Serve) -> Result<u8> {
    log(asked.log);
    let mut first = None;
    let (opened, doors, clock, _folder) = match &asked.record {
        Some(folder) => {
            let opened = Opened::made(folder)?;
            first = begun(&opened)?;
            let https = asked.https != Https::Off;
            (opened, Doors::SignIn { https }, Clock::Own, None)
        }
        None => {
            let folder = tempfile::tempdir().context("no folder for the demonstration")?;
            note("making the demonstration's fourteen months; use --record DIR for your own record");
            let demonstration = match &asked.told {
                Some(kept) => super::demonstration::begin_from(kept, folder.path())?,
                None => super::demonstration::begin(folder.path())?,
            };
            let doors = Doors::Demonstration(demonstration.person);
            (demonstration.opened, doors, Clock::from(demonstration.on), Some(folder))
        }
    };
    let listen = asked.listen.unwrap_or_else(|| SocketAddr::new(open_address(asked.https, &doors), PORT));
    let identity = certificate(asked, &opened.folder)?;
    let site = Site { opened, listen, doors, clock, identity };
    let scheme = if asked.https == Https::Off { "http" } else { "https" };
    let runtime = Builder::new_multi_thread().enable_all().build().context("no runtime")?;
    runtime.block_on(muster::serve::serve(site, |at| said(scheme, at, asked, first.as_deref())))?;
    Ok(MAY_GO)
}

/// A record that has nobody yet: at a terminal its first owner is asked for, else a code is drawn that makes them.
fn begun(opened: &Opened) -> Result<Option<String>> {
    if !first::is_needed(&opened.keeper) {
        return Ok(None);
    }
    if std::io::stdin().is_terminal() {
        note("nobody is in this record yet: you become its first owner");
        record_new::owner(opened, None)?;
        return Ok(None);
    }
    Ok(Some(first::draw(&opened.keeper, now())?))
}

fn log(how: Log) {
    let filter = EnvFilter::try_from_env("MUSTER_LOG").unwrap_or_else(|_| EnvFilter::new("info"));
    // Where nobody reads standard error any more the server goes on all the same.
    let builder =
        tracing_subscriber::fmt().with_env_filter(filter).with_writer(std::io::stderr).log_internal_errors(false);
    match how {
        Log::Text => builder.with_target(false).with_ansi(std::io::stderr().is_terminal()).init(),
        Log::Json => builder.json().init(),
    }
}

/// Phones come from outside, and only by HTTPS.
fn open_address(https: Https, doors: &Doors) -> IpAddr {
    match (https, doors) {
        (Https::Off, _) | (_, Doors::Demonstration(_)) => IpAddr::V4(Ipv4Addr::LOCALHOST),
        _ => IpAddr::V4(Ipv4Addr::UNSPECIFIED),
    }
}

fn certificate(asked: &Serve, folder: &Path) -> Result<Option<Certificate>> {
    match asked.https {
        Https::Off => Ok(None),
        Https::Given => {
            let (Some(chain), Some(key)) = (&asked.certificate, &asked.key) else {
                bail!("--https given needs --certificate and --key");
            };
            let read =
                |path: &Path| fs::read_to_string(path).with_context(|| format!("cannot read {}", path.display()));
            Ok(Some(Certificate::Given { chain: read(chain)?, key: read(key)? }))
        }
        Https::Own => {
            let names = if asked.names.is_empty() { authority::own_names() } else { asked.names.clone() };
            let identity = authority::identity(folder, &names, Timestamp::now())?;
            note(&format!("certificate for {}", names.join(", ")));
            note(&format!("its authority's SHA-256 is {}", trust::fingerprint(&identity.authority)));
            let open = SocketAddr::new(IpAddr::V4(Ipv4Addr::UNSPECIFIED), TRUST_PORT);
            Ok(Some(Certificate::Own(identity, asked.trust.unwrap_or(open))))
        }
    }
}

/// Opens an address as this machine opens addresses; where it cannot, the address is printed all the same.
fn browse(address: &str) {
    let opener = match std::env::consts::OS {
        "macos" => "open",
        "windows" => "explorer",
        _ => "xdg-open",
    };
    let quiet = || std::process::Stdio::null();
    let opened = std::process::Command::new(opener).arg(address).stdin(quiet()).stdout(quiet()).stderr(quiet()).spawn();
    if opened.is_err() {
        note(&format!("no browser could be opened here: go to {address}"));
    }
}

fn said(scheme: &str, at: Addresses, asked: &Serve, first: Option<&str>) {
    let host = |address: SocketAddr| match address.ip() {
        ip if ip.is_unspecified() => {
            asked.names.first().cloned().or_else(|| authority::own_address().map(|ip| ip.to_string()))
        }
        _ => None,
    };
    let shown = |address: SocketAddr| match host(address) {
        Some(host) => format!("{host}:{}", address.port()),
        None => address.to_string(),
    };
    let app = format!("{scheme}://{}/", shown(at.server));
    println!("{app}");
    let begins = first.map(|code| format!("{app}first#{code}"));
    if let (Some(begins), Some(code)) = (&begins, first) {
        note(&format!(
            "nobody is in this record yet; for an hour {begins} makes its owner, or `muster sign-in --server {app} --first {code} NAME`"
        ));
    }
    if asked.open {
        browse(begins.as_ref().unwrap_or(&app));
    }
    if let Some(trust) = at.trust {
        note(&format!("phones begin at http://{}/ to trust this server", shown(trust)));
    }
    if asked.record.is_none() {
        note(
            "the demonstration has no sign-in: everybody on this machine acts as its owner; it listens on loopback only",
        );
    }
}

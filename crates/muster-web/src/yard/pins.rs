//! PINs without signal: a phone that people share checks them by hashes the server gave it. It proves nothing; it tells a
//! slip of the hand from an act that was meant.

use std::{collections::BTreeMap, pin::Pin};

use argon2::{
    Argon2,
    password_hash::{PasswordVerifier, phc::PasswordHash},
};
use leptos::prelude::*;
use muster_core::record::payload::Kind;
use muster_wire::people::{PinHashes, PinsAsked};
use serde::{Deserialize, Serialize};
use wasm_split_helpers::wasm_split;

use super::{NotDone, Yard, ask, link::LinkError};
use crate::clock;

/// By what name the hashes are kept.
const KEPT_AS: &str = "pins";
/// After so long they are fetched anew, in seconds: somebody may have set another.
const STALE_S: i64 = 600;

type Fetching = Pin<Box<dyn Future<Output = Result<(), LinkError>>>>;

/// The hashes as they were given.
#[derive(Default, Serialize, Deserialize)]
struct Pins {
    at_s: i64,
    people: BTreeMap<String, String>,
}

/// Whether a hash is that of a PIN. The cost is the hash's own.
#[allow(unsafe_code, reason = "the seam between two modules is a name that the linker sees")]
#[wasm_split(write, fallible)]
fn is_of(phc: String, pin: String) -> Result<bool, NotDone> {
    let right = |phc: PasswordHash| Argon2::default().verify_password(pin.as_bytes(), &phc).is_ok();
    Ok(PasswordHash::new(&phc).is_ok_and(right))
}

#[allow(unsafe_code, reason = "the seam between two modules is a name that the linker sees")]
#[wasm_split(write, fallible)]
fn fetching(yard: Yard) -> Result<Fetching, NotDone> {
    Ok(Box::pin(yard.fetch_pins()))
}

impl Yard {
    /// Whether a PIN is that of whoever acts, by this phone alone; none where it holds no hash of theirs.
    pub(crate) async fn is_pin(self, pin: &str) -> Option<bool> {
        let phc = self.own_hash().await?;
        is_of(phc, pin.to_owned()).await.ok()
    }

    /// Whether this phone can check the PIN of whoever acts by itself.
    pub(crate) async fn knows_pin(self) -> bool {
        self.own_hash().await.is_some()
    }

    /// Fetches the hashes where this phone is to have them and its own are old.
    pub(super) async fn keep_pins(self) -> Result<(), LinkError> {
        if !self.is_shared() {
            return Ok(());
        }
        match fetching(self).await {
            Ok(fetching) => fetching.await,
            // A part that is not here is asked for again at the next sync.
            Err(NotDone(_)) => Ok(()),
        }
    }

    async fn fetch_pins(self) -> Result<(), LinkError> {
        let Some((disk, key)) = self.disk().zip(self.key.get_value()) else { return Ok(()) };
        let kept = disk.recall::<Pins>(KEPT_AS).await.ok().flatten().unwrap_or_default();
        let now = clock::now();
        let second = now.timestamp().as_second();
        if second - kept.at_s < STALE_S && !self.lacks_own(&kept) {
            return Ok(());
        }
        let (device, at) = (self.device().to_string(), now.to_string());
        let stated = format!("muster pins 1\ndevice {device}\nat {at}\n");
        let Ok(signature) = key.signature(stated.as_bytes()).await else { return Ok(()) };
        match ask::<PinHashes>("POST", "/api/v1/sync/pins", Some(&PinsAsked { device, at, signature })).await {
            // What is not kept is fetched again.
            Ok(given) => _ = disk.remember(KEPT_AS, &Pins { at_s: second, people: given.people }).await,
            Err(LinkError::Refused(..)) => {}
            Err(other) => return Err(other),
        }
        Ok(())
    }

    /// Whoever acts has a PIN and signs, and their hash is not among these.
    fn lacks_own(self, kept: &Pins) -> bool {
        let signs = self.may(Kind::Released) || self.may(Kind::Tagged);
        let own = self.me.with_untracked(|me| me.as_ref().filter(|me| me.has_pin).map(|me| me.person.clone()));
        own.is_some_and(|person| signs && !kept.people.contains_key(&person))
    }

    async fn own_hash(self) -> Option<String> {
        let (disk, me) = self.disk().zip(self.person())?;
        let mut kept = disk.recall::<Pins>(KEPT_AS).await.ok().flatten()?;
        kept.people.remove(me.as_str())
    }

    /// Whether the yard knows this phone as nobody's own.
    fn is_shared(self) -> bool {
        let device = self.device();
        self.held.with_value(|held| {
            let of = held.as_ref().and_then(|held| held.known().state.devices.get(&device));
            of.is_some_and(|of| of.person.is_none() && of.revoked.is_none())
        })
    }
}

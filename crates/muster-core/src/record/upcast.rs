//! Reads payloads of earlier versions as this one's. Each step is kept for ever: the log is never rewritten.

use alloc::string::String;

use serde_json::Value;

use super::payload::Kind;

/// The newest version of any kind. A kind that is new or whose payload changes takes the next number, so that a build from
/// before keeps such events without reading them.
pub const VERSION: u32 = 7;

/// A version or a kind that never was.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotUpcast {
    /// No build wrote this version.
    #[error("no version {0} was ever written: this build writes up to {VERSION}")]
    Version(u32),
    /// No build wrote this version of this kind.
    #[error("version {version} has no kind `{kind}`")]
    Kind {
        /// The kind.
        kind: String,
        /// The version.
        version: u32,
    },
}

/// The version this build writes a kind in.
#[must_use]
pub const fn version(kind: Kind) -> u32 {
    match kind {
        // 2: the day the work is planned for.
        Kind::JobOpened | Kind::JobMoved => 2,
        // 3: which of the law pack's defects it is.
        Kind::ObservationMade | Kind::FindingRaised => 3,
        // 4: the outing it was worked out for.
        Kind::Released => 4,
        // 5: the machine it was worked out for, and what that came to.
        Kind::OutingPlanned => 5,
        // 6: which of the law pack's defects it is after all.
        Kind::FindingClassed => 6,
        // 7: which wheel is off the ground.
        Kind::WalkRoundOpened => 7,
        _ => 1,
    }
}

/// A payload as this version writes it; none for one of a later version, which is kept and not understood.
///
/// # Errors
/// [`NotUpcast`] for a version that never was.
pub fn current(kind: &str, written: u32, payload: Value) -> Result<Option<(Kind, Value)>, NotUpcast> {
    if written == 0 {
        return Err(NotUpcast::Version(written));
    }
    if written > VERSION {
        return Ok(None);
    }
    let never = || NotUpcast::Kind { kind: kind.chars().take(40).collect(), version: written };
    let of = kind.parse().map_err(|_| never())?;
    match (of, written) {
        (Kind::JobOpened | Kind::JobMoved, 1) => {
            with_none(payload, "planned").map(|payload| Some((of, payload))).ok_or_else(never)
        }
        (Kind::ObservationMade | Kind::FindingRaised | Kind::FindingClassed, 1) => {
            with_none(payload, "defect").map(|payload| Some((of, payload))).ok_or_else(never)
        }
        (Kind::OutingPlanned, 1) => with_none(payload, "machine")
            .and_then(|payload| with_none(payload, "worked_out"))
            .map(|payload| Some((of, payload)))
            .ok_or_else(never),
        (Kind::Released, 1) => with_none(payload, "worked_out").map(|payload| Some((of, payload))).ok_or_else(never),
        (Kind::WalkRoundOpened, 1) => Ok(Some((of, rear_raised(payload)))),
        _ if written == version(of) => Ok(Some((of, payload))),
        _ => Err(never()),
    }
}

/// An earlier version that knew no such field; none for one that names it all the same.
fn with_none(mut payload: Value, field: &str) -> Option<Value> {
    let before = payload.as_object_mut().and_then(|fields| fields.insert(field.into(), Value::Null));
    before.is_none().then_some(payload)
}

/// An earlier version knew one raised wheel: a centre stand, and the paddock stand most yards have, raise the rear one.
fn rear_raised(mut payload: Value) -> Value {
    let stance = payload.pointer_mut("/found/stance").filter(|stance| *stance == "raised");
    if let Some(stance) = stance {
        *stance = "rear-raised".into();
    }
    payload
}

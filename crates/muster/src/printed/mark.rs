//! The school's mark: a setting of the installation, kept beside its record and printed on every paper from it.

use muster_core::{calendar::Moment, hash};
use muster_wire::settings::MarkView;

use super::NotPrinted;
use crate::{keeper::Keeper, store::StoreError};

/// The largest file, in bytes: a drawing, not a photo.
pub const MAX_MARK: usize = 256 << 10;
/// The name of the setting; its value is the file in hexadecimal.
const MARK: &str = "mark";

/// The file; none where the school has set none.
///
/// # Errors
/// A record that cannot be read.
pub fn mark(keeper: &Keeper) -> Result<Option<Vec<u8>>, StoreError> {
    Ok(keeper.store().setting(MARK)?.and_then(|text| bytes(&text)))
}

/// What is known of it.
///
/// # Errors
/// A record that cannot be read.
pub fn known_mark(keeper: &Keeper) -> Result<Option<MarkView>, StoreError> {
    Ok(mark(keeper)?.map(|bytes| MarkView { sha256: hash::of_bytes(&bytes), bytes: bytes.len() as u64 }))
}

/// Takes another mark, or none, for every paper from now on.
///
/// # Errors
/// A picture that cannot stand on paper, told now and not by the next paper; a build that prints nothing; a record that
/// cannot be written.
pub fn set_mark(keeper: &Keeper, bytes: Option<Vec<u8>>, now: Moment) -> Result<(), NotPrinted> {
    if let Some(bytes) = &bytes {
        let svg = || std::str::from_utf8(bytes).is_ok_and(|text| text.contains("<svg"));
        if !bytes.starts_with(b"\x89PNG") && !bytes.starts_with(&[0xFF, 0xD8, 0xFF]) && !svg() {
            return Err(NotPrinted::Nothing("the mark is no SVG, PNG or JPEG: give another file".into()));
        }
        tried(keeper, bytes, now)?;
    }
    Ok(keeper.store().put_setting(MARK, bytes.map(|bytes| hash::hex(&bytes)).as_deref())?)
}

/// Sets it on a paper that nobody gets.
#[cfg(feature = "paper")]
fn tried(keeper: &Keeper, bytes: &[u8], now: Moment) -> Result<(), NotPrinted> {
    let paper = muster_report::Paper {
        size: muster_report::Size::A4,
        school: keeper.known().yard.name.clone(),
        mark: Some(bytes.to_vec()),
        address: None,
        made: now,
    };
    let yard = &keeper.known().yard;
    let name = |person: &str| person.to_string();
    muster_report::YardSheet { yard, judgements: &[], now, name: &name, seal: None }.print(&paper)?;
    Ok(())
}

#[cfg(not(feature = "paper"))]
fn tried(_: &Keeper, _: &[u8], _: Moment) -> Result<(), NotPrinted> {
    Err(NotPrinted::NotBuilt)
}

fn bytes(text: &str) -> Option<Vec<u8>> {
    let (pairs, []) = text.as_bytes().as_chunks::<2>() else { return None };
    pairs.iter().map(|pair| hash::unhex::<1>(std::str::from_utf8(pair).ok()?).map(|[byte]| byte)).collect()
}

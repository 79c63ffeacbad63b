//! SHA-256 over named texts, so that a verdict says which data it rests on.

use alloc::{string::String, vec::Vec};

use sha2::{Digest, Sha256};

use crate::sorted::sort;

/// Hashes named texts, whatever their order, as lower-case hexadecimal (FIPS 180-4).
#[must_use]
pub fn of(files: &[(&str, &str)]) -> String {
    let mut hasher = Sha256::new();
    in_order(files).into_iter().for_each(|file| take(&mut hasher, file));
    hex(&hasher.finalize())
}

/// As [`of`], resting between the texts.
pub async fn of_in_pieces(files: &[(&str, &str)], rest: impl AsyncFn()) -> String {
    let mut hasher = Sha256::new();
    for file in in_order(files) {
        take(&mut hasher, file);
        rest().await;
    }
    hex(&hasher.finalize())
}

fn in_order<'f>(files: &'f [(&'f str, &'f str)]) -> Vec<&'f (&'f str, &'f str)> {
    let mut sorted: Vec<_> = files.iter().collect();
    sort(&mut sorted);
    sorted
}

fn take(hasher: &mut Sha256, (name, text): &(&str, &str)) {
    // Lengths before contents, so that no two lists of files run together alike.
    hasher.update((name.len() as u64).to_be_bytes());
    hasher.update(name.as_bytes());
    hasher.update((text.len() as u64).to_be_bytes());
    hasher.update(text.as_bytes());
}

/// Hashes one text.
#[must_use]
pub fn of_text(text: &str) -> String {
    of_bytes(text.as_bytes())
}

/// Hashes bytes.
#[must_use]
pub fn of_bytes(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

/// Writes bytes as lower-case hexadecimal.
#[must_use]
pub fn hex(bytes: &[u8]) -> String {
    let digit = |half: u8| char::from(if half < 10 { b'0' + half } else { b'a' - 10 + half });
    let mut out = String::with_capacity(2 * bytes.len());
    for byte in bytes {
        out.push(digit(byte >> 4));
        out.push(digit(byte & 15));
    }
    out
}

/// Reads lower-case hexadecimal of a known length; none for any other text.
#[must_use]
pub fn unhex<const N: usize>(text: &str) -> Option<[u8; N]> {
    let digit = |byte: u8| match byte {
        b'0'..=b'9' => Some(byte - b'0'),
        b'a'..=b'f' => Some(byte - b'a' + 10),
        _ => None,
    };
    let (pairs, []) = text.as_bytes().as_chunks() else { return None };
    if pairs.len() != N {
        return None;
    }
    let mut out = [0; N];
    for (to, [high, low]) in out.iter_mut().zip(pairs) {
        *to = digit(*high)? << 4 | digit(*low)?;
    }
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_published_vector() {
        // FIPS 180-4 example, message "abc".
        assert_eq!(of_text("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }

    #[test]
    fn order_of_files_does_not_matter_but_their_names_do() {
        assert_eq!(of(&[("a", "1"), ("b", "2")]), of(&[("b", "2"), ("a", "1")]));
        assert_ne!(of(&[("a", "1")]), of(&[("b", "1")]));
        assert_ne!(of(&[("a", "12")]), of(&[("a1", "2")]));
    }

    #[test]
    fn hexadecimal_is_written_and_read_one_way() {
        assert_eq!(hex(&[0, 10, 255]), "000aff");
        assert_eq!(unhex("000aff"), Some([0, 10, 255]));
        for wrong in ["000AFF", "000af", "000afff", "+00aff", "000agf", ""] {
            assert_eq!(unhex::<3>(wrong), None, "{wrong}");
        }
    }
}

//! SHA-256 over named texts, so that a verdict says which data it rests on.

use alloc::string::String;

use sha2::{Digest, Sha256};

use crate::sorted::sort;

/// Hashes named texts, whatever their order, as lower-case hexadecimal (FIPS 180-4).
#[must_use]
pub fn of(files: &[(&str, &str)]) -> String {
    let mut sorted: alloc::vec::Vec<_> = files.iter().collect();
    sort(&mut sorted);
    let mut hasher = Sha256::new();
    for (name, text) in sorted {
        // Lengths before contents, so that no two lists of files run together alike.
        hasher.update((name.len() as u64).to_be_bytes());
        hasher.update(name.as_bytes());
        hasher.update((text.len() as u64).to_be_bytes());
        hasher.update(text.as_bytes());
    }
    hex(&hasher.finalize())
}

/// Hashes one text.
#[must_use]
pub fn of_text(text: &str) -> String {
    hex(&Sha256::digest(text.as_bytes()))
}

fn hex(bytes: &[u8]) -> String {
    let digits = bytes.iter().flat_map(|byte| [byte >> 4, byte & 15]);
    digits.filter_map(|digit| char::from_digit(u32::from(digit), 16)).collect()
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
}

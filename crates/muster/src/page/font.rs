//! The page's typeface, carried inside it so that it opens without a network.

/// Atkinson Hyperlegible Next, Latin, variable weight; SIL Open Font License 1.1, its text beside it.
const FONT: &[u8] = include_bytes!("fonts/atkinson-hyperlegible-next-latin-wght-normal.woff2");

const DIGITS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

/// The style rule that names the typeface and holds it.
pub(super) fn face() -> String {
    format!(
        "@font-face{{font-family:\"Atkinson Hyperlegible Next\";font-weight:200 800;font-display:swap;\
         src:url(data:font/woff2;base64,{}) format(\"woff2\")}}",
        base64(FONT)
    )
}

/// Bytes in Base 64 with padding. Source: RFC 4648, 4.
fn base64(bytes: &[u8]) -> String {
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for chunk in bytes.chunks(3) {
        let [first, second, third] = [0, 1, 2].map(|index| chunk.get(index).copied().unwrap_or(0));
        let group = u32::from_be_bytes([0, first, second, third]);
        for place in 0..4 {
            let digit = DIGITS[(group >> (18 - 6 * place) & 63) as usize];
            out.push(if place > chunk.len() { '=' } else { char::from(digit) });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::base64;

    /// Source: RFC 4648, 10, test vectors.
    #[test]
    fn base64_as_its_standard_shows() {
        for (bytes, text) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(bytes.as_bytes()), text);
        }
    }
}

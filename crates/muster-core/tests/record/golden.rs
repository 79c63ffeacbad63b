//! Texts a person reads and agrees on, compared exactly; `BLESS=1` writes them anew, for a person to read again.

use std::path::Path;

/// Compares a text with a file of `tests/golden`.
pub(crate) fn same(name: &str, text: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden").join(name);
    if std::env::var_os("BLESS").is_some() {
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, text).unwrap();
    }
    let agreed = std::fs::read_to_string(&path).unwrap_or_default();
    let changed = agreed.lines().zip(text.lines()).find(|(agreed, now)| agreed != now);
    assert!(agreed == text, "{name} differs, first at {changed:?}");
}

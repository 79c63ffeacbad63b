//! What the page rests on: when it was judged, what was known then, and the hashes of its data.

use muster_core::judge::Judgement;

use muster_draw::number::{escaped, moment};

/// The foot of the page.
pub(super) fn foot(judgement: &Judgement) -> String {
    let known = judgement.known_at.as_deref().map_or_else(|| "nothing yet".to_owned(), moment);
    let rows = [
        ("As known at", known, false),
        ("Judged for", moment(&judgement.judged_at), false),
        ("Catalogue", judgement.catalogue.clone(), true),
        ("Yard's files", judgement.yard.clone(), true),
    ];
    let row = |(name, value, is_hash): &(&str, String, bool)| {
        let class = if *is_hash { " class=\"mono\"" } else { "" };
        format!("<div><dt>{name}</dt><dd{class}>{}</dd></div>", escaped(value))
    };
    let rows: String = rows.iter().map(row).collect();
    format!(
        "<footer class=\"foot\"><h2>What this rests on</h2><dl>{rows}</dl>\
         <p>The two long numbers are SHA-256 of the data it was judged by: the same data and the same forms give the \
         same verdict. ± is the expanded uncertainty, k = 2. The hatch before a limit is where a reading is less than \
         95 % sure to be inside it.</p>\
         <p>The machine’s handbook, the law where it is ridden and a qualified mechanic come before this page. A fit \
         verdict says what was seen, not what was not. Let hot parts cool, and run no engine indoors.</p>\
         </footer>\n"
    )
}

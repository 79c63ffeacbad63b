//! Hold tags to hang on a bar, each with the stub for its key; and numbered ones to be bound to a machine when hung.

use muster_core::calendar::Moment;
use serde_json::{Value, json};

use crate::{
    paper::{Leaf, Paper, Pdf, Refused, Seal},
    press, said,
};

/// A hold tag that hangs, or is to hang, on a machine.
#[derive(Clone, Debug, PartialEq)]
pub struct Tag {
    /// Fleet number.
    pub machine: String,
    /// Its model.
    pub model: String,
    /// Why it must not go out.
    pub why: String,
    /// Since when.
    pub since: Moment,
    /// Who hung it; none: a line to sign.
    pub by: Option<String>,
    /// How it may be moved: `pushed; workshop`.
    pub may_move: String,
    /// What clears it.
    pub clears: String,
    /// The number printed on it.
    pub number: Option<String>,
    /// What its code says.
    pub seal: Option<Seal>,
}

impl Tag {
    /// The tag alone.
    ///
    /// # Errors
    /// [`Refused`].
    pub fn print(&self, paper: &Paper) -> Result<Pdf, Refused> {
        press::print(vec![self.leaf()], paper)
    }

    /// The tag, to be printed with others.
    #[must_use]
    pub fn leaf(&self) -> Leaf {
        let data = json!({
            "big": self.machine,
            "model": self.model,
            "why": short(&self.why),
            "since": said::moment(self.since),
            "by": self.by,
            "may_move": self.may_move,
            "clears": short(&self.clears),
            "number": self.number,
            "bound": true,
        });
        leaf(format!("Hold tag {}", self.machine), format!("the hold tag of {}", self.machine), data, self.seal.clone())
    }
}

/// Hold tags numbered before they are needed: the number is bound to a machine by scanning it when the tag is hung.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TagNumbers {
    /// The first number.
    pub from: u32,
    /// How many.
    pub count: u32,
}

impl TagNumbers {
    /// The tags, a sheet each.
    #[must_use]
    pub fn leaves(self) -> Vec<Leaf> {
        (self.from..self.from.saturating_add(self.count)).map(numbered).collect()
    }

    /// The tags alone.
    ///
    /// # Errors
    /// [`Refused`].
    pub fn print(self, paper: &Paper) -> Result<Pdf, Refused> {
        press::print(self.leaves(), paper)
    }
}

fn numbered(number: u32) -> Leaf {
    let number = format!("{number:04}");
    let data = json!({
        "big": number, "number": number, "bound": false,
        "may_move": "pushed; workshop",
    });
    // No record yet: the code is the number's address alone, which hanging the tag binds.
    let seal = Seal { path: format!("/tags/{number}"), hash: String::new() };
    leaf(format!("Hold tag {number}"), format!("hold tag {number}"), data, Some(seal))
}

fn leaf(title: String, whose: String, data: Value, seal: Option<Seal>) -> Leaf {
    Leaf { kind: "tag", title, whose, data, drawings: Vec::new(), photos: Vec::new(), seal }
}

/// A text short enough for a tag; the record has the whole of it.
fn short(text: &str) -> String {
    const MOST: usize = 160;
    if text.chars().count() <= MOST {
        return text.to_string();
    }
    let cut: String = text.chars().take(MOST).collect();
    let whole = cut.rsplit_once(' ').map_or(cut.as_str(), |(whole, _)| whole);
    format!("{whole} … (more in the record)")
}

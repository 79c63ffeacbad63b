//! Stickers for machines: the fleet number, and a code that opens the machine's page or takes a rider's word.

use serde_json::{Value, json};

use crate::{
    draw,
    paper::{Leaf, Paper, Pdf, Refused},
    press,
};

/// One machine's sticker.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sticker {
    /// Fleet number.
    pub machine: String,
    /// Its model.
    pub model: String,
    /// Where its code leads: `https://muster.local:8443/machines/H-07`.
    pub link: String,
    /// What to do with it, in a few words: `Scan before you ride`.
    pub says: String,
}

impl Sticker {
    /// A sheet of stickers, as many pages as they need.
    ///
    /// # Errors
    /// [`Refused`].
    pub fn print(stickers: &[Self], paper: &Paper) -> Result<Pdf, Refused> {
        press::print(vec![Self::leaf(stickers)?], paper)
    }

    /// The stickers, to be printed with other documents.
    ///
    /// # Errors
    /// [`Refused::Address`] if a link is too long for a code.
    pub fn leaf(stickers: &[Self]) -> Result<Leaf, Refused> {
        let drawings = stickers.iter().map(|of| draw::code(&of.link)).collect::<Result<Vec<_>, _>>()?;
        let rows: Vec<Value> = stickers
            .iter()
            .enumerate()
            .map(|(index, of)| {
                json!({ "machine": of.machine, "model": of.model, "says": of.says, "code": {
                    "index": index, "says": format!("QR code: {} of {}", of.says, of.machine),
                } })
            })
            .collect();
        Ok(Leaf {
            kind: "stickers",
            title: "Machine stickers".to_string(),
            whose: "a sticker".to_string(),
            data: json!({ "stickers": rows }),
            drawings,
            photos: Vec::new(),
            seal: None,
        })
    }
}

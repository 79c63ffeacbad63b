//! The outing: what rider, passenger, luggage, distance and weather do to one machine, and whether it is fit for that.
//!
//! It rests on the judgement of the machine and never changes it: the outing is as grave as the gravest of the machine's
//! verdict for the uses it asks for and of what is worked out here.

mod aboard;
pub mod asked;
mod assess;
mod axles;
mod beam;
pub mod bound;
mod braking;
mod energy;
pub mod input;
pub mod item;
pub mod kept;
mod machine;
mod pressure;
pub mod range;
mod reach;
mod say;
pub mod session;
mod settings;
mod stand;
pub mod stated;
mod work;

pub use asked::Asked;
pub use assess::{Assessment, Figures, LoadFigures, Setting, assess};
pub use input::Outing;
pub use item::{Item, Part, Todo, When};
pub use kept::Kept;

use crate::{
    form::Form,
    judge::{Context, Judgement},
};

/// The machine an outing is asked of: its context, its judgement and the forms that rests on.
#[derive(Clone, Copy, Debug)]
pub struct Case<'c> {
    /// The machine, its sheet, the yard, the catalogue.
    pub context: &'c Context<'c>,
    /// The judgement of the machine.
    pub judgement: &'c Judgement,
    /// Its forms: papers are judged at the planned return.
    pub forms: &'c [&'c Form],
}

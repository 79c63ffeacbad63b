//! Bringing a yard, a model and a machine in: what decides which checks apply, then the figures, the gravest first.

mod figures;
mod gauges;
mod many;
mod start;
mod text;

pub(crate) use figures::SheetScreen;
pub(crate) use gauges::Gauges;
pub(crate) use many::AddMany;
pub(crate) use start::Add;

//! Laws of the formulas that hold for every reading, and the readings they refuse.

mod dates;
mod readings;
mod workshop;

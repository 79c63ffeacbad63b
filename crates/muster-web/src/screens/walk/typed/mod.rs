//! A form that was filled by hand, typed in afterwards: laid out like the paper, each row judged as it is typed. What is
//! written happened when the form says; who typed it signs, who walked is named beside each answer.

mod begin;
mod due;
mod form;
mod row;

pub(crate) use begin::TypedStart;
pub(crate) use form::TypedScreen;

use muster_core::record::id::EventId;

/// The address of a form being typed in. Points would make it a file's.
fn address(machine: &str, walk: EventId) -> String {
    format!("/machines/{machine}/typed/{}", walk.to_string().replace('.', "~"))
}

/// What is remembered of who walked a walk-round that was typed in.
fn walked_by(walk: EventId) -> String {
    format!("walked {walk}")
}

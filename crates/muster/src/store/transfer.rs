//! Transfer.

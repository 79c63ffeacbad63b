//! What goes over the wire: the shapes the server answers with and the command line reads.

pub mod command;
pub mod machine;
pub mod sync;
pub mod yard;

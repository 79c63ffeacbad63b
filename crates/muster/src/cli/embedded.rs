//! The data files the program carries, as the build found them.

include!(concat!(env!("OUT_DIR"), "/embedded.rs"));

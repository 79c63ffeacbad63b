//! What a history must hold to.

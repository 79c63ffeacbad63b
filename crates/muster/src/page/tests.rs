//! Tests of the page and of the geometry of its rulers.

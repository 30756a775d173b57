//! (skeleton)

//! How fast clearance is found and certified.

fn main() {}

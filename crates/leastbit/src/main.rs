//! The `leastbit` command.
fn main() {}

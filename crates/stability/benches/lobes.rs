//! Limits of stability per second.
fn main() {
    divan::main();
}

//! Ten thousand random cutters on random surfaces: how many are passed, and how many wrongly.

#[path = "../tests/random/mod.rs"]
mod random;

fn main() {
    let number = 10_000;
    let t = random::tally(1_000_000, number);
    println!("{t:#?}");
}

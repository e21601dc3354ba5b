//! Benches.
#![allow(missing_docs)]

mod questioner;

fn main() {
    divan::main();
}

//! The program: hands its arguments to the library and turns the outcome into an exit status.

fn main() {}

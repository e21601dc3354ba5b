//! Does the questioner choose well and safely?

mod optimum;
mod small;

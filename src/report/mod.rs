//! Text, Markdown, HTML and pictures: how results are shown. Nothing here works anything out.

pub mod care;
pub mod cases;
pub mod explain;
pub mod export;
pub mod interview;
pub mod json;
pub mod learn;
pub mod page;
pub mod picture;
pub mod plan;
pub mod standing;
pub mod style;
pub mod trial;

pub use crate::rulebook::readability;
pub use style::{Plain, Style, bar, per_cent, plain, wrapped};

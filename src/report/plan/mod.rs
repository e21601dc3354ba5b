//! A plan as text, Markdown, a page to print, and JSON.

mod html;
mod json;
mod markdown;
mod picture;
mod text;
pub mod words;

pub use html::html;
pub use json::json;
pub use markdown::markdown;
pub use picture::picture;
pub use text::text;

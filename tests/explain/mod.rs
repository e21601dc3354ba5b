//! Why this part, what brought it on, how well the answers fit the book.

mod interventions;
mod weights;
mod worlds;

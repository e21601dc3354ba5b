//! Why this part, what brought it on, how well the answers fit the book.

mod command;
mod hostile;
mod interventions;
mod pages;
mod weights;
mod worlds;

//! Why this part, what brought it on, how well the answers fit the book.

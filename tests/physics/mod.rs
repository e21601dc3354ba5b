//! Tests of: quantities as people type them, and the physics behind `reckon`.

mod quantities;

//! Independent pieces of work on all cores.

use rayon::prelude::*;

/// What `work` makes of each item, in their order. Where the caller has spread its own work over the cores already, one after the
/// other: a thread that waited here would start the next piece of that work, and hold the memory of both.
pub(crate) fn spread_out<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync + Send) -> Vec<R> {
    if items.len() < 2 || rayon::current_thread_index().is_some() {
        items.iter().map(work).collect()
    } else {
        items.par_iter().map(work).collect()
    }
}

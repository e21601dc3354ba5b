//! Independent pieces of work on all cores.

use std::sync::Mutex;

use rayon::prelude::*;

/// What `work` makes of each item, in their order.
pub(crate) fn spread_out<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync + Send) -> Vec<R> {
    spread_out_with(items, || (), |(), item| work(item))
}

/// As [`spread_out`], with something that one core takes from item to item: made once a core, for it may be large. Where the caller
/// has spread its own work over the cores already, one after the other: a thread that waited here would start the next piece of
/// that work, and hold the memory of both.
pub(super) fn spread_out_with<T: Sync, S: Send, R: Send>(
    items: &[T],
    fresh: impl Fn() -> S + Sync + Send,
    work: impl Fn(&mut S, &T) -> R + Sync + Send,
) -> Vec<R> {
    if items.len() < 2 || rayon::current_thread_index().is_some() {
        let mut own = fresh();
        return items.iter().map(|item| work(&mut own, item)).collect();
    }
    // Never waited for: work does not spread out again, so a thread is done with one item before it takes the next.
    let owned: Vec<Mutex<Option<S>>> = (0..rayon::current_num_threads()).map(|_| Mutex::new(None)).collect();
    let on_its_thread = |item| {
        let thread = rayon::current_thread_index().expect("runs on a thread of the pool");
        let mut own = owned[thread].lock().expect("no other work of this thread has failed");
        work(own.get_or_insert_with(&fresh), item)
    };
    items.par_iter().map(on_its_thread).collect()
}

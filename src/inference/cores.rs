//! Independent pieces of work on all cores.

use rayon::prelude::*;

/// What `work` makes of each item, in their order.
pub(crate) fn spread_out<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync + Send) -> Vec<R> {
    spread_out_with(items, || (), |(), item| work(item))
}

/// As [`spread_out`], with something that one core takes from item to item. Where the caller has spread its own work over the
/// cores already, one after the other: a thread that waited here would start the next piece of that work, and hold the memory of
/// both.
pub(super) fn spread_out_with<T: Sync, S, R: Send>(
    items: &[T],
    fresh: impl Fn() -> S + Sync + Send,
    work: impl Fn(&mut S, &T) -> R + Sync + Send,
) -> Vec<R> {
    if items.len() < 2 || rayon::current_thread_index().is_some() {
        let mut own = fresh();
        items.iter().map(|item| work(&mut own, item)).collect()
    } else {
        items.par_iter().map_init(fresh, work).collect()
    }
}

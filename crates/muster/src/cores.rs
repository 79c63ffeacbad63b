//! Work on many items at once, on every core.

use std::{num::NonZero, panic::resume_unwind, sync::OnceLock, thread};

/// Does work on parts of a list, each part on a core of its own, and puts what comes of it together in the list's order.
///
/// From `worth` items on: with fewer, starting another thread takes longer than the work it would take over.
pub(crate) fn on_every_core<T: Sync, R: Send>(
    items: &[T],
    worth: usize,
    work: impl Fn(&[T]) -> Vec<R> + Sync,
) -> Vec<R> {
    // Asked once: Linux answers from files, which takes as long as a small batch.
    static CORES: OnceLock<usize> = OnceLock::new();
    let cores = *CORES.get_or_init(|| thread::available_parallelism().map_or(1, NonZero::get));
    if items.len() < worth || cores == 1 {
        return work(items);
    }
    let mut parts = items.chunks(items.len().div_ceil(cores));
    let here = parts.next().unwrap_or_default();
    thread::scope(|scope| {
        let work = &work;
        let others: Vec<_> = parts.map(|part| scope.spawn(move || work(part))).collect();
        let mut done = work(here);
        for other in others {
            done.extend(other.join().unwrap_or_else(|panic| resume_unwind(panic)));
        }
        done
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_comes_of_many_items_stands_in_their_order() {
        for count in [0, 1, 7, 8, 9, 1000] {
            let items: Vec<usize> = (0..count).collect();
            assert_eq!(on_every_core(&items, 8, <[usize]>::to_vec), items);
        }
    }
}

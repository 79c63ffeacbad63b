//! Sorting with the standard library's stable sort compiled once: each further type would cost a phone 4 kB of download,
//! and so would each kind of map or set that is collected, since collecting sorts first.

use alloc::collections::{BTreeMap, BTreeSet};
use alloc::vec::Vec;
use core::cmp::Ordering;

/// Sorts stably by a comparison.
pub fn sort_by<T>(items: &mut Vec<T>, compare: impl Fn(&T, &T) -> Ordering) {
    let at = |a: usize, b: usize| items.get(a).zip(items.get(b)).map_or(Ordering::Equal, |(a, b)| compare(a, b));
    let order = order(items.len(), &at);
    let mut slots: Vec<Option<T>> = items.drain(..).map(Some).collect();
    items.extend(order.into_iter().filter_map(|index| slots.get_mut(index).and_then(Option::take)));
}

/// Sorts stably in the type's own order.
pub fn sort<T: Ord>(items: &mut Vec<T>) {
    sort_by(items, Ord::cmp);
}

/// Collects a map; of two values of one key the later stands.
pub fn map<K: Ord, V>(items: impl IntoIterator<Item = (K, V)>) -> BTreeMap<K, V> {
    let mut map = BTreeMap::new();
    for (key, value) in items {
        map.insert(key, value);
    }
    map
}

/// Collects a set.
pub fn set<T: Ord>(items: impl IntoIterator<Item = T>) -> BTreeSet<T> {
    let mut set = BTreeSet::new();
    for item in items {
        set.insert(item);
    }
    set
}

fn order(count: usize, compare: &dyn Fn(usize, usize) -> Ordering) -> Vec<usize> {
    let mut order: Vec<usize> = (0..count).collect();
    order.sort_by(|a, b| compare(*a, *b));
    order
}

#[cfg(test)]
mod tests {
    use super::*;
    use alloc::vec;

    #[test]
    fn equal_items_keep_their_order_and_none_is_lost() {
        let mut items = vec![(2, 'a'), (1, 'b'), (2, 'c'), (1, 'd'), (0, 'e')];
        sort_by(&mut items, |a, b| a.0.cmp(&b.0));
        assert_eq!(items, [(0, 'e'), (1, 'b'), (1, 'd'), (2, 'a'), (2, 'c')]);
        let mut none: Vec<u8> = vec![];
        sort(&mut none);
        assert!(none.is_empty());
    }
}

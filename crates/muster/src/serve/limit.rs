//! How much one address may ask: a bucket of tokens each, in memory.

use std::{
    collections::HashMap,
    net::IpAddr,
    sync::{Mutex, PoisonError},
};

use jiff::Timestamp;

/// Addresses remembered at once; past that, those that asked nothing for long are forgotten first.
const MOST_ADDRESSES: usize = 20_000;

/// What a bucket holds and how fast it fills.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rate {
    /// Requests at once.
    pub burst: f64,
    /// Requests a second for long.
    pub per_second: f64,
}

impl Rate {
    /// For every door: two hundred phones of a yard may stand behind one address and all come back at lunch.
    pub const ANY: Self = Self { burst: 3000.0, per_second: 100.0 };
    /// For the doors where something can be guessed or written without sign-in: the same phones on their first morning.
    pub const STRICT: Self = Self { burst: 240.0, per_second: 1.0 };
}

/// The buckets of one kind of door.
#[derive(Debug)]
pub struct Limit {
    rate: Rate,
    buckets: Mutex<HashMap<String, Bucket>>,
}

#[derive(Clone, Copy, Debug)]
struct Bucket {
    tokens: f64,
    at_ms: i64,
}

impl Limit {
    /// Buckets that fill at a rate.
    #[must_use]
    pub fn new(rate: Rate) -> Self {
        Self { rate, buckets: Mutex::default() }
    }

    /// Takes a token; false if there is none. A clock that goes back fills nothing.
    pub fn take(&self, address: &str, now: Timestamp) -> bool {
        let mut buckets = self.buckets.lock().unwrap_or_else(PoisonError::into_inner);
        let now = now.as_millisecond();
        if buckets.len() >= MOST_ADDRESSES && !buckets.contains_key(address) {
            buckets.retain(|_, bucket| self.rate.filled(*bucket, now).tokens < self.rate.burst);
            if buckets.len() >= MOST_ADDRESSES {
                buckets.clear();
            }
        }
        let fresh = Bucket { tokens: self.rate.burst, at_ms: now };
        let bucket = buckets.entry(address.to_string()).or_insert(fresh);
        *bucket = self.rate.filled(*bucket, now);
        if bucket.tokens < 1.0 {
            return false;
        }
        bucket.tokens -= 1.0;
        true
    }
}

impl Rate {
    fn filled(self, bucket: Bucket, now_ms: i64) -> Bucket {
        let passed_ms = u32::try_from(now_ms.saturating_sub(bucket.at_ms).max(0)).unwrap_or(u32::MAX);
        let tokens = bucket.tokens + f64::from(passed_ms) / 1000.0 * self.per_second;
        Bucket { tokens: tokens.min(self.burst), at_ms: now_ms }
    }
}

/// Under which name an address is counted: one network of IPv6 (64 bits, what one household is given) is one.
#[must_use]
pub fn counted_as(address: IpAddr) -> String {
    match address.to_canonical() {
        IpAddr::V4(address) => address.to_string(),
        IpAddr::V6(address) => {
            let [a, b, c, d, ..] = address.segments();
            format!("{a:x}:{b:x}:{c:x}:{d:x}::/64")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bucket_empties_and_fills() {
        let limit = Limit::new(Rate { burst: 3.0, per_second: 0.5 });
        let at = |second: i64| Timestamp::from_second(1_000_000 + second).unwrap();
        let took: Vec<bool> = (0..4).map(|_| limit.take("one", at(0))).collect();
        assert_eq!(took, [true, true, true, false]);
        assert!(limit.take("another", at(0)));
        assert!(!limit.take("one", at(1)));
        assert!(limit.take("one", at(2)));
        assert!(!limit.take("one", at(2)));
        // Back in time nothing fills, and far ahead no more than the bucket holds.
        assert!(!limit.take("one", at(-100)));
        let took: Vec<bool> = (0..4).map(|_| limit.take("one", at(1_000_000))).collect();
        assert_eq!(took, [true, true, true, false]);
    }

    #[test]
    fn a_network_of_ipv6_is_one_address() {
        let name = |text: &str| counted_as(text.parse().unwrap());
        assert_eq!(name("2001:db8:1:2::3"), name("2001:db8:1:2:ffff::4"));
        assert_ne!(name("2001:db8:1:2::3"), name("2001:db8:1:3::3"));
        assert_eq!(name("::ffff:192.0.2.1"), "192.0.2.1");
    }
}

//! How often somebody may guess: five times freely, then ever more rarely, counted before the guess is looked at.

use std::{
    collections::HashMap,
    sync::{Mutex, MutexGuard, PoisonError},
};

use jiff::Timestamp;
use sha2::{Digest, Sha256};

/// Guesses that cost nothing but their own time.
pub const FREE: u32 = 5;
/// The wait after the last free one, in seconds; each further failure doubles it.
const FIRST_WAIT_S: i64 = 15;
/// The longest wait, in seconds.
pub const LONGEST_WAIT_S: i64 = 15 * 60;
/// Names of nobody that are remembered; at most as many as people might mistype.
const MOST_STRANGERS: usize = 4096;

/// Guesses since the last that was right.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tries {
    /// How many failed.
    pub failed: u32,
    /// No guess is looked at before.
    pub blocked_until: Option<Timestamp>,
}

impl Tries {
    /// Seconds to wait, if a guess is not looked at now.
    #[must_use]
    pub fn wait_s(self, now: Timestamp) -> Option<i64> {
        let until = self.blocked_until?;
        Some(until.as_second().saturating_sub(now.as_second())).filter(|wait| *wait > 0)
    }

    /// After one more that failed.
    #[must_use]
    pub fn with_one_more(self, now: Timestamp) -> Self {
        let failed = self.failed.saturating_add(1);
        let beyond = failed.checked_sub(FREE);
        let wait = beyond.map(|beyond| (FIRST_WAIT_S << beyond.min(20)).min(LONGEST_WAIT_S));
        let until = wait.and_then(|wait| Timestamp::from_second(now.as_second().saturating_add(wait)).ok());
        Self { failed, blocked_until: until }
    }
}

/// Lets one guess at a time be counted, and remembers guesses at people there are not: they are answered no otherwise.
#[derive(Debug, Default)]
pub struct Attempts {
    turn: Mutex<()>,
    strangers: Mutex<HashMap<[u8; 32], Tries>>,
}

impl Attempts {
    /// Waits for one's turn to read and write a count: of many who guess at once each is counted.
    pub fn turn(&self) -> MutexGuard<'_, ()> {
        self.turn.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Counts a guess at a person there is not; seconds to wait, if it is not looked at.
    pub fn stranger(&self, name: &str, now: Timestamp) -> Option<i64> {
        let mut known = self.strangers.lock().unwrap_or_else(PoisonError::into_inner);
        if known.len() >= MOST_STRANGERS {
            known.clear();
        }
        let tries = known.entry(Sha256::digest(name.trim().to_lowercase().as_bytes()).into()).or_default();
        let wait = tries.wait_s(now);
        if wait.is_none() {
            *tries = tries.with_one_more(now);
        }
        wait
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_failure_doubles_the_wait_up_to_a_quarter_of_an_hour() {
        let now = Timestamp::from_second(1_000_000).unwrap();
        let mut tries = Tries::default();
        let mut waits = Vec::new();
        for _ in 0..14 {
            tries = tries.with_one_more(now);
            waits.push(tries.wait_s(now).unwrap_or(0));
        }
        assert_eq!(waits, [0, 0, 0, 0, 15, 30, 60, 120, 240, 480, 900, 900, 900, 900]);
        assert_eq!(tries.wait_s(Timestamp::from_second(1_000_900).unwrap()), None);
        let most = Tries { failed: u32::MAX, blocked_until: None }.with_one_more(now);
        assert_eq!(most.wait_s(now), Some(LONGEST_WAIT_S));
    }

    #[test]
    fn nobody_is_throttled_like_somebody() {
        let (attempts, now) = (Attempts::default(), Timestamp::from_second(1_000_000).unwrap());
        let waits: Vec<_> = (0..6).map(|_| attempts.stranger("Wilma Nowhere", now)).collect();
        assert_eq!(waits, [None, None, None, None, None, Some(15)]);
        assert_eq!(attempts.stranger("wilma nowhere ", now), Some(15));
    }
}

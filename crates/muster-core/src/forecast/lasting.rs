//! How long parts last, learnt from whole lives alone: the fixed interval that the model is measured against.

use super::passage::quantile;

/// A part's life as far as it is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Life {
    /// How long it has lasted, in any unit; above 0.
    pub lasted: f64,
    /// Whether it has ended; else it goes on.
    pub ended: bool,
}

/// A Weibull law of lives: S(t) = exp(−(t/scale)^shape).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weibull {
    /// Above 1 where old parts end likelier than young ones.
    pub shape: f64,
    /// What 63 of 100 have ended by, in the unit of the lives.
    pub scale: f64,
    /// Logarithm of the likelihood of the lives.
    pub log_likelihood: f64,
}

impl Weibull {
    /// The likeliest law of these lives, those that go on counted for what they have lasted; none where all that ended, ended
    /// alike or none has.
    ///
    /// The shape is the root of the profile likelihood (Lawless 2003, Statistical Models and Methods for Lifetime Data, 5.2).
    #[must_use]
    pub fn of(lives: &[Life]) -> Option<Self> {
        let longest = lives.iter().map(|life| life.lasted).fold(0.0, f64::max);
        if lives.iter().any(|life| life.lasted <= 0.0 || !life.lasted.is_finite()) {
            return None;
        }
        // As shares of the longest, so that no power runs over.
        let log = |life: &Life| libm::log(life.lasted / longest);
        let ended = lives.iter().filter(|life| life.ended).count() as f64;
        let of_ended: f64 = lives.iter().filter(|life| life.ended).map(log).sum();
        let power = |shape: f64, life: &Life| libm::exp(shape * log(life));
        let rises = |shape: f64| {
            let sum: f64 = lives.iter().map(|life| power(shape, life)).sum();
            let moment: f64 = lives.iter().map(|life| power(shape, life) * log(life)).sum();
            moment / sum - 1.0 / shape - of_ended / ended
        };
        let shape = quantile(0.0, STEEPEST, rises)?;
        let sum: f64 = lives.iter().map(|life| power(shape, life)).sum();
        let scale = longest * libm::exp(libm::log(sum / ended) / shape);
        let own: f64 = ended * libm::log(shape / scale);
        let log_likelihood = own + (shape - 1.0) * (of_ended + ended * libm::log(longest / scale)) - ended;
        Some(Self { shape, scale, log_likelihood })
    }

    /// How long it takes till a share `p` has ended, 0 to 1 and less.
    #[must_use]
    pub fn ended(&self, p: f64) -> f64 {
        self.scale * libm::exp(libm::log(-libm::log1p(-p)) / self.shape)
    }
}

/// A shape beyond which lives are alike.
const STEEPEST: f64 = 1e4;

#[cfg(test)]
mod tests {
    use alloc::vec::Vec;

    use super::{Life, Weibull};
    use proptest::prelude::*;

    fn ended(lasted: f64) -> Life {
        Life { lasted, ended: true }
    }

    #[test]
    fn lives_that_teach_nothing_give_no_law() {
        assert_eq!(Weibull::of(&[]), None);
        assert_eq!(Weibull::of(&[ended(3.0), ended(3.0)]), None, "all alike");
        assert_eq!(Weibull::of(&[Life { lasted: 3.0, ended: false }]), None, "none ended");
        assert_eq!(Weibull::of(&[ended(3.0), ended(0.0)]), None, "no life at all");
    }

    proptest! {
        #[test]
        fn a_life_that_goes_on_makes_lives_longer(own in prop::collection::vec(1.0..9.0_f64, 3..12), more in 9.0..20.0_f64) {
            let lives: Vec<Life> = own.iter().copied().map(ended).collect();
            let Some(law) = Weibull::of(&lives) else { return Ok(()) };
            let with = [&lives[..], &[Life { lasted: more, ended: false }]].concat();
            let later = Weibull::of(&with).unwrap();
            prop_assert!(later.ended(0.9) > law.ended(0.9));
        }

        #[test]
        fn another_unit_is_the_same_law(own in prop::collection::vec(1.0..9.0_f64, 3..12), unit in 1e-3..1e6_f64) {
            let lives: Vec<Life> = own.iter().copied().map(ended).collect();
            let in_unit: Vec<Life> = own.iter().map(|lasted| ended(lasted * unit)).collect();
            let (Some(law), Some(other)) = (Weibull::of(&lives), Weibull::of(&in_unit)) else { return Ok(()) };
            prop_assert!((other.scale / unit / law.scale - 1.0).abs() < 1e-9 && (other.shape / law.shape - 1.0).abs() < 1e-9);
        }
    }
}

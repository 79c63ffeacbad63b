//! A formula's result with its uncertainty, and what each argument adds to it.

use super::refusal::Refusal;
use crate::statistics::uncertainty::StandardUncertainty;
use alloc::vec::Vec;

/// What one argument adds to the uncertainty of a result.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Component {
    name: &'static str,
    sensitivity: f64,
    u: StandardUncertainty,
    contribution: StandardUncertainty,
}

impl Component {
    /// The argument's name.
    #[must_use]
    pub fn name(&self) -> &'static str {
        self.name
    }

    /// How far the result moves per unit of the argument, signed.
    #[must_use]
    pub fn sensitivity(&self) -> f64 {
        self.sensitivity
    }

    /// The argument's standard uncertainty, in the argument's unit.
    #[must_use]
    pub fn u(&self) -> StandardUncertainty {
        self.u
    }

    /// |sensitivity|·u, in the result's unit.
    #[must_use]
    pub fn contribution(&self) -> StandardUncertainty {
        self.contribution
    }
}

/// A result with its standard uncertainty, in the unit the formula names.
///
/// u² = Σ (cᵢ uᵢ)², arguments independent
///
/// Source: GUM (JCGM 100:2008) 5.1.2, equation 10.
#[derive(Clone, Debug, PartialEq)]
pub struct Propagated<T> {
    value: T,
    u: StandardUncertainty,
    components: Vec<Component>,
}

impl<T: Copy> Propagated<T> {
    /// Combines named arguments, each with its sensitivity and its standard uncertainty; the reading itself first.
    pub(super) fn of<const N: usize>(
        value: T,
        arguments: [(&'static str, f64, StandardUncertainty); N],
    ) -> Result<Self, Refusal> {
        let mut components = Vec::with_capacity(N);
        for (name, sensitivity, u) in arguments {
            components.push(Component { name, sensitivity, u, contribution: u.scaled(sensitivity)? });
        }
        let u = StandardUncertainty::combine(components.iter().map(Component::contribution))?;
        Ok(Self { value, u, components })
    }

    /// The result.
    #[must_use]
    pub fn value(&self) -> T {
        self.value
    }

    /// Its combined standard uncertainty.
    #[must_use]
    pub fn u(&self) -> StandardUncertainty {
        self.u
    }

    /// What each argument adds, the reading first.
    #[must_use]
    pub fn components(&self) -> &[Component] {
        &self.components
    }

    /// How far the result moves per unit of the reading itself.
    #[must_use]
    pub fn sensitivity(&self) -> f64 {
        self.components.first().map_or(1.0, Component::sensitivity)
    }

    /// The uncertainty the correction adds to the reading's own: all components but the first.
    ///
    /// # Errors
    /// [`Refusal::Statistics`] if the parts are too large to combine.
    pub fn correction_u(&self) -> Result<StandardUncertainty, Refusal> {
        Ok(StandardUncertainty::combine(self.components.iter().skip(1).map(Component::contribution))?)
    }
}

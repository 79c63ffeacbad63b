//! Where a step is done and the state of the machine it needs.

use core::fmt;

use serde::{Deserialize, Serialize};

use crate::{equipment::Equipment, named::named};

named! {
    /// A place at the machine where checks are done, in walking order.
    Station, "station", "front-wheel, cockpit, left-side, rear-wheel, right-side, under":
    /// Front wheel, brake and fork.
    FrontWheel = "front-wheel",
    /// Bars, levers, switches, instruments, mirrors.
    Cockpit = "cockpit",
    /// The left side.
    LeftSide = "left-side",
    /// Rear wheel, brake and final drive.
    RearWheel = "rear-wheel",
    /// The right side.
    RightSide = "right-side",
    /// Beneath the engine.
    Under = "under",
}

named! {
    /// How warm tyres, engine, brakes and exhaust are, rising.
    Heat, "heat", "cold, warm, hot":
    /// Tyres and engine as cold as the air.
    Cold = "cold",
    /// The engine has run or the machine was ridden, nothing burns.
    Warm = "warm",
    /// Brakes or exhaust too hot to touch.
    Hot = "hot",
}

named! {
    /// Key and engine, rising: the engine runs only with the key on.
    Power, "power", "off, on, running":
    /// Key off.
    Off = "off",
    /// Key on, engine not running.
    On = "on",
    /// Engine running.
    Running = "running",
}

named! {
    /// How the machine stands.
    Stance, "stance", "side-stand, upright, seated, front-raised, rear-raised":
    /// On its side stand.
    SideStand = "side-stand",
    /// Upright on both wheels, nobody on it.
    Upright = "upright",
    /// Upright with a rider seated.
    Seated = "seated",
    /// Its front wheel off the ground, its rear one on it.
    FrontRaised = "front-raised",
    /// Its rear wheel off the ground, on a centre or paddock stand, its front one on it.
    RearRaised = "rear-raised",
}

impl Stance {
    /// Whether a wheel is off the ground.
    #[must_use]
    pub const fn is_raised(self) -> bool {
        matches!(self, Self::FrontRaised | Self::RearRaised)
    }
}

/// The state of a machine, as far as it decides which steps can be done.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct State {
    /// How warm it is.
    pub heat: Heat,
    /// Key and engine.
    pub power: Power,
    /// How it stands.
    pub stance: Stance,
}

/// What was said of the state a machine is found in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Found {
    /// How warm it is; none: cold.
    pub heat: Option<Heat>,
    /// Key and engine; none: off.
    pub power: Option<Power>,
    /// How it stands; none: on what it stands on by itself.
    pub stance: Option<Stance>,
}

impl Found {
    /// The state of a machine with this equipment.
    #[must_use]
    pub fn on(self, equipment: &Equipment) -> State {
        State {
            heat: self.heat.unwrap_or(Heat::Cold),
            power: self.power.unwrap_or(Power::Off),
            stance: self.stance.unwrap_or_else(|| Standing::of_machine(equipment).0),
        }
    }
}

/// What a machine stands on by itself: its side stand, unless it is known to have none.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Standing(pub Stance);

impl Standing {
    /// An outfit stands on its own wheels, a machine with no side stand on its centre stand; with neither it is held.
    #[must_use]
    pub fn of_machine(equipment: &Equipment) -> Self {
        let stands = equipment.get("stands");
        let has = |stand: &str| stands.is_none_or(|stands| stands.iter().any(|it| it == stand));
        Self(match (equipment.has_sidecar(), has("side"), has("centre")) {
            (true, _, _) | (false, false, false) => Stance::Upright,
            (false, true, _) => Stance::SideStand,
            (false, false, true) => Stance::RearRaised,
        })
    }

    /// What a step needs of this machine: what can be done on a side stand can be done on what it stands on instead.
    #[must_use]
    pub fn of(self, needs: Needs) -> Needs {
        let side = bit(Stance::SideStand as u8);
        if self.0 == Stance::SideStand || needs.stances & side == 0 {
            return needs;
        }
        Needs { stances: needs.stances & !side | bit(self.0 as u8), ..needs }
    }
}

/// In words: `cold, key off, on its side stand`.
impl fmt::Display for State {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let heat = match self.heat {
            Heat::Cold => "cold",
            Heat::Warm => "warm",
            Heat::Hot => "hot",
        };
        let power = match self.power {
            Power::Off => "key off",
            Power::On => "key on",
            Power::Running => "running",
        };
        let stance = match self.stance {
            Stance::SideStand => "on its side stand",
            Stance::Upright => "upright",
            Stance::Seated => "rider seated",
            Stance::FrontRaised => "on a stand, front wheel raised",
            Stance::RearRaised => "on a stand, rear wheel raised",
        };
        write!(f, "{heat}, {power}, {stance}")
    }
}

/// The states in which a step can be done: any of some heats, with any of some powers and stances.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Needs {
    heats: u8,
    powers: u8,
    stances: u8,
}

impl Needs {
    /// Every state will do.
    pub const ANY: Self = Self { heats: 0b111, powers: 0b111, stances: 0b1_1111 };

    /// Allows these heats only.
    #[must_use]
    pub fn heats(self, heats: &[Heat]) -> Self {
        Self { heats: heats.iter().fold(0, |bits, heat| bits | bit(*heat as u8)), ..self }
    }

    /// Allows these powers only.
    #[must_use]
    pub fn powers(self, powers: &[Power]) -> Self {
        Self { powers: powers.iter().fold(0, |bits, power| bits | bit(*power as u8)), ..self }
    }

    /// Allows these stances only.
    #[must_use]
    pub fn stances(self, stances: &[Stance]) -> Self {
        Self { stances: stances.iter().fold(0, |bits, stance| bits | bit(*stance as u8)), ..self }
    }

    /// Whether the step can be done in this state: with the engine running never on a raised front wheel, for the driven
    /// one stands on the ground.
    #[must_use]
    pub const fn allows(self, state: State) -> bool {
        let drives_off = matches!((state.power, state.stance), (Power::Running, Stance::FrontRaised));
        !drives_off
            && self.allows_heat(state.heat)
            && self.powers & bit(state.power as u8) != 0
            && self.stances & bit(state.stance as u8) != 0
    }

    /// Whether the step can be done at this heat.
    #[must_use]
    pub const fn allows_heat(self, heat: Heat) -> bool {
        self.heats & bit(heat as u8) != 0
    }

    /// Whether the step can be done in this stance.
    #[must_use]
    pub const fn allows_stance(self, stance: Stance) -> bool {
        self.stances & bit(stance as u8) != 0
    }

    /// Whether a step at the rear wheel can only be done with that wheel on the ground and the front one off it. The reverse
    /// is no fault: on its centre stand a machine's head lamp is looked at with the rear wheel raised.
    #[must_use]
    pub(crate) fn raises_the_other_wheel(self, station: Station) -> bool {
        station == Station::RearWheel && self.stances == bit(Stance::FrontRaised as u8)
    }

    /// Whether only a cold machine will do, so that the engine must not have run.
    #[must_use]
    pub const fn is_cold_only(self) -> bool {
        self.heats == bit(Heat::Cold as u8)
    }

    /// Whether a cold machine will not do.
    #[must_use]
    pub const fn is_warmth(self) -> bool {
        self.heats & bit(Heat::Cold as u8) == 0
    }

    /// Whether some state will do: neither cold-only steps nor a raised front wheel with the engine running.
    #[must_use]
    pub const fn can_be_met(self) -> bool {
        let still = self.is_cold_only() || self.stances == bit(Stance::FrontRaised as u8);
        let powers = if still { self.powers & !bit(Power::Running as u8) } else { self.powers };
        self.heats != 0 && powers != 0 && self.stances != 0
    }
}

const fn bit(index: u8) -> u8 {
    1 << index
}

#[cfg(test)]
mod tests {
    use super::*;
    use alloc::format;

    #[test]
    fn names_are_those_of_the_wire() {
        for &station in Station::ALL {
            assert_eq!(station.as_str().parse(), Ok(station));
            assert_eq!(serde_json::to_string(&station).unwrap(), format!("\"{}\"", station.as_str()));
        }
        for &stance in Stance::ALL {
            assert_eq!(stance.as_str().parse(), Ok(stance));
            assert_eq!(serde_json::to_string(&stance).unwrap(), format!("\"{}\"", stance.as_str()));
        }
        assert!("front".parse::<Station>().is_err());
    }

    #[test]
    fn a_running_engine_meets_neither_a_cold_step_nor_a_raised_front_wheel() {
        let running = Needs::ANY.powers(&[Power::Running]);
        assert!(!running.heats(&[Heat::Cold]).can_be_met());
        assert!(!running.stances(&[Stance::FrontRaised]).can_be_met());
        assert!(running.stances(&[Stance::FrontRaised, Stance::RearRaised]).can_be_met());
        assert!(Needs::ANY.can_be_met());
        let driven = State { heat: Heat::Warm, power: Power::Running, stance: Stance::FrontRaised };
        assert!(!Needs::ANY.allows(driven) && Needs::ANY.allows(State { stance: Stance::RearRaised, ..driven }));
    }
}

//! Which process ruins which material, and how.
//!
//! Only what is sure stands here: whatever hangs on the bath, the shop or the alloy is for
//! the shop to say. Where no source is named it is common practice, no source.

use crate::model::fastener::Locking;
use crate::model::job::Process;
use crate::model::part::Material;

/// How a process ruins a material, in words that follow "in …, because".
#[must_use]
pub fn ruins(process: Process, material: Material) -> Option<&'static str> {
    match material {
        Material::Aluminium => aluminium(process),
        Material::Magnesium => magnesium(process),
        Material::Zinc => zinc(process),
        Material::SpringSteel | Material::HardenedSteel => hard(process),
        Material::Rubber | Material::Plastic => soft(process),
        Material::Bearing => bearing(process),
        Material::Glass => match process {
            Process::Blast => Some("grit frosts it"),
            _ => None,
        },
        Material::Steel
        | Material::Stainless
        | Material::CastIron
        | Material::Brass
        | Material::Copper => match process {
            Process::Anodise => Some("the bath for aluminium dissolves it"),
            _ => None,
        },
        Material::Mixed => None,
    }
}

/// How a process ruins what locks a fastener.
#[must_use]
pub fn unlocks(process: Process, locking: Locking) -> Option<&'static str> {
    if locking != Locking::Nylon {
        return None;
    }
    match process {
        _ if process.electroplates() => Some("the pickling acid and the baking spoil nylon"),
        Process::Phosphate => Some("the hot acid spoils nylon"),
        Process::HotTank => Some("hot caustic or acid spoils nylon"),
        Process::PowderCoat => Some("the oven, at about 200 °C, spoils nylon"),
        Process::HotDip => Some("the zinc, at about 450 °C, melts nylon"),
        Process::HeatTreat => Some("the heat melts nylon"),
        _ => None,
    }
}

fn aluminium(process: Process) -> Option<&'static str> {
    match process {
        Process::HotTank => Some("hot caustic dissolves it"),
        // Nickel and chrome go on over a zincate; zinc is what a shop plates steel with.
        Process::Zinc | Process::ZincNickel | Process::Cadmium => {
            Some("the caustic cleaner and the pickling acid for steel dissolve it")
        }
        Process::HotDip => Some("the pickling acid and the molten zinc dissolve it"),
        _ => None,
    }
}

fn magnesium(process: Process) -> Option<&'static str> {
    match process {
        Process::Zinc | Process::ZincNickel | Process::Cadmium => {
            Some("the acid for steel dissolves it")
        }
        Process::HotDip => Some("the pickling acid and the molten zinc dissolve it"),
        _ => None,
    }
}

fn zinc(process: Process) -> Option<&'static str> {
    match process {
        Process::HotTank => Some("hot caustic and acid both dissolve it"),
        Process::HotDip => Some("it melts at about 420 °C, and the bath is hotter"),
        Process::Anodise => Some("the bath for aluminium dissolves it"),
        _ => None,
    }
}

fn hard(process: Process) -> Option<&'static str> {
    match process {
        _ if process.electroplates() => Some(
            "pickling and plating charge hard steel with hydrogen, and unbaked it breaks days later",
        ),
        Process::HotDip => Some("the zinc, at about 450 °C, draws its temper"),
        Process::Anodise => Some("the bath for aluminium dissolves it"),
        _ => None,
    }
}

fn soft(process: Process) -> Option<&'static str> {
    match process {
        Process::HotTank => Some("hot caustic or acid swells and hardens it"),
        Process::PowderCoat => Some("the oven, at about 200 °C, bakes it hard or melts it"),
        Process::HotDip => Some("the zinc, at about 450 °C, burns it"),
        Process::HeatTreat => Some("the heat burns it"),
        _ => None,
    }
}

fn bearing(process: Process) -> Option<&'static str> {
    match process {
        Process::HotTank => Some("the bath washes its grease out and eats its white metal"),
        Process::Blast | Process::SoftBlast => Some("grit stays in it and wears it out"),
        Process::PowderCoat => Some("the oven, at about 200 °C, bakes its grease and seals"),
        Process::HotDip | Process::HeatTreat => Some("the heat draws the temper of its races"),
        Process::Anodise => Some("the bath for aluminium dissolves it"),
        Process::Phosphate => Some("the acid etches its races"),
        _ if process.electroplates() => Some("the pickling acid etches its races"),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Common practice, no source: what a shop does every day is never held for a slip.
    #[test]
    fn what_shops_do_every_day_is_let_go() {
        for (process, material) in [
            (Process::HotTank, Material::CastIron),
            (Process::HotTank, Material::Steel),
            (Process::Zinc, Material::Steel),
            (Process::Nickel, Material::Aluminium),
            (Process::Chrome, Material::Zinc),
            (Process::Anodise, Material::Aluminium),
            (Process::PowderCoat, Material::Aluminium),
            (Process::PowderCoat, Material::SpringSteel),
            (Process::SoftBlast, Material::Aluminium),
            (Process::Ultrasonic, Material::Rubber),
            (Process::Phosphate, Material::SpringSteel),
            (Process::ZincFlake, Material::HardenedSteel),
            (Process::Paint, Material::Bearing),
            (Process::Machine, Material::Bearing),
            (Process::CrackTest, Material::HardenedSteel),
        ] {
            assert_eq!(ruins(process, material), None, "{process:?} {material:?}");
        }
        assert_eq!(unlocks(Process::ZincFlake, Locking::Nylon), None);
        assert_eq!(unlocks(Process::Zinc, Locking::AllMetal), None);
    }

    /// Zinc flake puts no hydrogen in, which is why it is asked for on hard parts (ISO
    /// 10683, from memory); electroplating does (ISO 4042, from memory).
    #[test]
    fn hydrogen_comes_with_the_current() {
        for process in [Process::Zinc, Process::Cadmium, Process::Chrome] {
            assert!(ruins(process, Material::SpringSteel).is_some());
            assert!(ruins(process, Material::Steel).is_none());
        }
        assert!(ruins(Process::ZincFlake, Material::SpringSteel).is_none());
    }
}

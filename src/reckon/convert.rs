//! The units that a quantity is asked for in: those that the trade uses for it, which are
//! fewer than those that can be read.

use super::unit::{Dimension, Unit};

/// The units of each dimension that manuals, tools and sheets are marked in.
const USED: &[(Dimension, &[&str])] = &[
    (
        Dimension::Torque,
        &["N·m", "lb-ft", "lb-in", "oz-in", "kgf·m", "kgf·cm"],
    ),
    (Dimension::Length, &["mm", "cm", "m", "in", "ft", "thou"]),
    (Dimension::Area, &["mm2", "cm2", "in2", "kcmil", "AWG"]),
    (
        Dimension::Volume,
        &[
            "l", "ml", "cc", "in3", "US gal", "UK gal", "US qt", "UK qt", "US pt", "UK pt",
            "US fl oz", "UK fl oz",
        ],
    ),
    (Dimension::Mass, &["kg", "g", "lb", "oz"]),
    (Dimension::Force, &["N", "kN", "lbf", "kgf"]),
    (Dimension::Time, &["s", "min", "h", "days", "weeks"]),
    (Dimension::Speed, &["km/h", "mph", "m/s"]),
    (Dimension::Power, &["W", "kW", "hp", "PS"]),
    (
        Dimension::Pressure,
        &[
            "kPa", "MPa", "bar", "mbar", "psi", "kgf/cm2", "inHg", "mmHg",
        ],
    ),
    (Dimension::Temperature, &["degC", "degF", "K"]),
    (Dimension::Angle, &["deg", "turn", "rad"]),
    (Dimension::VolumeFlow, &["cc/min", "cc/s", "l/min", "l/h"]),
    (Dimension::MassFlow, &["g/s", "g/min", "kg/h", "lb/h"]),
];

/// The units in which a quantity is told, the one that it is written in among them. Where the
/// trade uses all there are (ohms, volts), all of them; hardness and money turn into nothing
/// else.
#[must_use]
pub fn told_in(written: Unit) -> Vec<Unit> {
    let dimension = written.dimension();
    if matches!(dimension, Dimension::Hardness | Dimension::Money) {
        return vec![written];
    }
    let used = USED.iter().find(|(of, _)| *of == dimension);
    let mut units: Vec<Unit> = match used {
        Some((_, names)) => names
            .iter()
            .filter_map(|name| Unit::read(name).ok())
            .collect(),
        None => Unit::all()
            .filter(|unit| unit.dimension() == dimension)
            .collect(),
    };
    if !units.contains(&written) {
        units.insert(0, written);
    }
    units
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_unit_that_is_used_is_one() {
        for (dimension, names) in USED {
            for name in *names {
                let unit = Unit::read(name).map(|unit| (unit.dimension(), unit.name()));
                assert_eq!(unit, Ok((*dimension, *name)));
            }
        }
    }

    #[test]
    fn what_it_is_written_in_is_among_them() {
        for unit in Unit::all() {
            assert!(told_in(unit).contains(&unit), "{unit}");
        }
    }
}

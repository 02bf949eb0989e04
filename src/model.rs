//! The typed build: one module a kind of record, and the list of kinds.
//!
//! The types are also where the published schemas come from ([`schemas`]), so
//! that the two can't drift apart. A type lets every field be missing; what a
//! record must have is said by its schema alone, because a record that can't be
//! judged for one missing field would be lost to all rules.

pub mod assembly;
pub mod build;
pub mod circuit;
pub mod clearance;
pub mod common;
pub mod decision;
pub mod donor;
pub mod fastener;
pub mod job;
pub mod part;
pub mod photo;
pub mod plug;
pub mod route;
pub mod schemas;

use std::collections::BTreeMap;
use std::fmt;
use std::sync::Arc;

use serde::Deserialize;
use serde_json::Value;

/// One record of a kind.
#[derive(Debug)]
pub struct Record<T> {
    /// Its fields; the states of a build that hold the same record share them.
    pub data: Arc<T>,
    /// The number of its file in the folder.
    pub file: usize,
}

impl<T> Clone for Record<T> {
    fn clone(&self) -> Self {
        Self {
            data: Arc::clone(&self.data),
            file: self.file,
        }
    }
}

/// The list of kinds: folder, one of them, its type, an example that its schema shows.
macro_rules! kinds {
    ($($variant:ident $folder:literal $one:literal $module:ident::$type:ident $example:literal;)+) => {
        /// A kind of record. Each has a folder of its own.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Kind {
            /// `build.yaml`, which is one record.
            Build,
            $(
                #[doc = concat!("Records in `", $folder, "/`.")]
                $variant,
            )+
        }

        impl Kind {
            /// All kinds, `build.yaml` first.
            pub const ALL: &[Self] = &[Self::Build, $(Self::$variant),+];

            /// The folder that its files lie in; for `build.yaml` the first part of a reference to it.
            #[must_use]
            pub fn folder(self) -> &'static str {
                match self {
                    Self::Build => "build",
                    $(Self::$variant => $folder),+
                }
            }

            /// What one of them is called.
            #[must_use]
            pub fn one(self) -> &'static str {
                match self {
                    Self::Build => "build",
                    $(Self::$variant => $one),+
                }
            }

            /// An example of a file, in YAML, that its schema shows.
            #[must_use]
            pub fn example(self) -> &'static str {
                match self {
                    Self::Build => "name: Wren with a Pell engine\ncar: {maker: Oriel, model: Wren, year: 1971}\ncylinders: 4\nfiring-order: [1, 3, 4, 2]\n",
                    $(Self::$variant => $example),+
                }
            }

            /// The published schema of its files, as JSON text.
            #[must_use]
            pub fn schema_text(self) -> &'static str {
                match self {
                    Self::Build => include_str!("../schema/build.json"),
                    $(Self::$variant => include_str!(concat!("../schema/", $folder, ".json"))),+
                }
            }

            fn record_schema(self, types: &mut schemars::SchemaGenerator) -> schemars::Schema {
                match self {
                    Self::Build => types.subschema_for::<build::Build>(),
                    $(Self::$variant => types.subschema_for::<$module::$type>()),+
                }
            }
        }

        /// All records that can be read, by kind and id.
        #[derive(Debug, Clone, Default)]
        pub struct Model {
            /// `build.yaml`.
            pub build: Arc<build::Build>,
            $(
                #[doc = concat!("The records in `", $folder, "/`.")]
                pub $module: BTreeMap<String, Record<$module::$type>>,
            )+
        }

        impl Model {
            /// Takes in one record.
            ///
            /// # Errors
            /// When the record does not have its kind's form; its schema says the same.
            pub fn add(&mut self, kind: Kind, id: &str, file: usize, value: &Value) -> Result<(), Misfit> {
                match kind {
                    Kind::Build => self.build = Arc::new(typed(value)?),
                    $(Kind::$variant => {
                        let data = Arc::new(typed(value)?);
                        self.$module.entry(id.to_owned()).or_insert(Record { data, file });
                    })+
                }
                Ok(())
            }

            /// Takes in all records of another model, where this one has none of that id;
            /// `build.yaml` is left alone.
            pub fn take(&mut self, other: Self) {
                $(for (id, record) in other.$module {
                    self.$module.entry(id).or_insert(record);
                })+
            }

            /// Some records of a kind, shared.
            pub(crate) fn some<'a>(&self, kind: Kind, ids: impl Iterator<Item = &'a str>) -> Self {
                let mut some = Self::default();
                match kind {
                    Kind::Build => some.build = Arc::clone(&self.build),
                    $(Kind::$variant => {
                        let known = ids.filter_map(|id| Some((id.to_owned(), self.$module.get(id)?.clone())));
                        some.$module = known.collect();
                    })+
                }
                some
            }

            /// Says which file all its records stand in.
            pub(crate) fn number(&mut self, file: usize) {
                $(self.$module.values_mut().for_each(|record| record.file = file);)+
            }

            /// How many records there are, `build.yaml` not counted.
            #[must_use]
            pub fn len(&self) -> usize {
                0 $(+ self.$module.len())+
            }

            /// Whether there is no record.
            #[must_use]
            pub fn is_empty(&self) -> bool {
                self.len() == 0
            }
        }
    };
}

kinds! {
    Donors "donors" "donor" donor::Donor
        "pell-van: {kind: vehicle, maker: Pell, year: 1996, engine-number: \"P16-88120\", price: 310 EUR}\n";
    Parts "parts" "part" part::Part
        "injector:\n  name: Injector\n  number: \"QX-1180\"\n  pieces:\n    P1: {donor: pell-van, condition: unchecked, kept-in: box 4}\n";
    Assemblies "assemblies" "assembly" assembly::Assembly
        "engine:\n  in: car\n  places:\n    head: {takes: [\"16-HD-2\"]}\n  joints:\n    head:\n      clamps: [engine/head]\n      steps: [30 N·m, turn 90 deg]\n      holes: {front: {calls-for: bolt-m10-70}}\n";
    Fasteners "fasteners" "fastener" fastener::Fastener
        "bolt-m10-70: {form: bolt, head: flange, thread: M10x1.25, length: 70 mm, class: \"10.9\", have: 4}\n";
    Plugs "plugs" "plug" plug::Plug
        "unit-b: {kind: plug, at: cabin, cavities: 1-40, of: cabin/control-unit}\n";
    Routes "routes" "route" route::Route
        "bay-run: {from: bulkhead, to: engine/head, length: 900 mm}\n";
    Circuits "circuits" "circuit" circuit::Circuit
        "coolant-signal:\n  does: coolant temperature\n  wires:\n    a: {from: unit-b/21, to: coolant-sensor/1, size: 0.5 mm2, colour: BU/WH, state: planned}\n";
    Clearances "clearances" "clearance" clearance::Clearance
        "bracket-to-rail: {between: [engine/bracket, car/rail], least: 10 mm, readings: [{is: 12 mm, when: 2026-03-01, as: mock-up}]}\n";
    Jobs "jobs" "job" job::Job
        "plating-1:\n  kind: send-out\n  process: zinc\n  to: the plater\n  sent: 2026-02-10\n  lines: [{what: fasteners/bolt-m10-70, out: 4}]\n";
    Decisions "decisions" "decision" decision::Decision
        "keep-unit-b:\n  asks: Which control unit?\n  options: {unit-a: {against: [wrong ignition]}, unit-b: {}}\n  chosen: unit-b\n  because: it reads this head's coils\n";
    Photos "photos" "photo" photo::Photo
        "p-014: {file: p-014.jpg, taken: 2026-03-01, shows: [engine/bracket]}\n";
}

/// A record that does not have its kind's form, and where.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{path}: {message}")]
pub struct Misfit {
    /// The way to the field.
    pub path: String,
    /// What is wrong there.
    pub message: String,
}

fn typed<'de, T: Deserialize<'de>>(value: &'de Value) -> Result<T, Misfit> {
    // The plain reading is quicker; the way to the field is found only when it fails.
    T::deserialize(value).or_else(|_| {
        serde_path_to_error::deserialize(value).map_err(|error| Misfit {
            path: error.path().to_string(),
            message: error.inner().to_string(),
        })
    })
}

impl Kind {
    /// The kind whose folder has this name.
    #[must_use]
    pub fn of_folder(folder: &str) -> Option<Self> {
        Self::ALL
            .iter()
            .copied()
            .find(|kind| *kind != Self::Build && kind.folder() == folder)
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.folder())
    }
}

//! What is planned and what is on: small folders, and exactly what they come to.

#![allow(clippy::disallowed_methods)]

use matchmark::folder::{Content, Folder, RawFile};
use matchmark::model::common::Stage;
use matchmark::present::{Present, View};
use matchmark::reckon::measure::in_mm;

const ENGINE: &str = "name: Example\ncylinders: 4\nbanks: 2\n";

fn folder(build: &str, parts: &str, assemblies: &str, jobs: &str) -> Folder {
    let files = [
        ("build.yaml", build),
        ("parts/all.yaml", parts),
        ("assemblies/all.yaml", assemblies),
        ("jobs/all.yaml", jobs),
    ];
    let files = files.into_iter().filter(|(_, text)| !text.is_empty());
    Folder::read(
        files
            .map(|(path, text)| RawFile {
                path: path.to_owned(),
                content: Content::Bytes(text.as_bytes().to_vec()),
            })
            .collect(),
    )
    .unwrap()
}

/// Each stay as a line: the piece, how many, the place, whether planned, the stage, the claim.
fn stays(parts: &str, assemblies: &str) -> Vec<String> {
    let folder = folder(ENGINE, parts, assemblies, "");
    let present = Present::of(&folder);
    let stays = present.stays.iter().map(|stay| {
        let planned = if stay.planned.is_some() {
            " planned"
        } else {
            ""
        };
        let claim = match stay.claim == stay.stage {
            true => String::new(),
            false => format!(" as good as {}", stay.claim.word()),
        };
        format!(
            "{} of {} in {}:{planned} {}{claim}",
            stay.count,
            present.piece(stay).name(),
            present.place(stay).name,
            stay.stage.word()
        )
    });
    stays.collect()
}

#[test]
fn a_place_is_spelt_out_for_each_cylinder_bank_and_hand() {
    let assemblies = "
fuel:
  places:
    injector: {each: cylinder}
    rail: {each: bank}
    mount: {each: hand, bank: 2}
    pump: {}
";
    let folder = folder(ENGINE, "", assemblies, "");
    let present = Present::of(&folder);
    let places = present.places.iter();
    let said = places.map(|place| {
        let hand = place.hand.map_or("-", |hand| hand.word());
        let number = |of: Option<u32>| of.map_or("-".to_owned(), |of| of.to_string());
        format!(
            "{} {hand} {} {}",
            place.name,
            number(place.bank),
            number(place.cylinder)
        )
    });
    let mut said: Vec<String> = said.collect();
    said.sort();
    assert_eq!(
        said,
        [
            "fuel/injector-1 - - 1",
            "fuel/injector-2 - - 2",
            "fuel/injector-3 - - 3",
            "fuel/injector-4 - - 4",
            "fuel/mount-left left 2 -",
            "fuel/mount-right right 2 -",
            "fuel/pump - - -",
            "fuel/rail-1 - 1 -",
            "fuel/rail-2 - 2 -",
        ]
    );
    assert_eq!(present.places_named("fuel/injector").len(), 4);
    assert_eq!(present.places_named("fuel/injector-3").len(), 1);
    assert_eq!(present.places_named("fuel/injector-5").len(), 0);
    assert_eq!(present.place_named("fuel/injector"), None);
}

#[test]
fn without_its_number_of_cylinders_nothing_is_spelt_out() {
    let assemblies = "fuel: {places: {injector: {each: cylinder}, rail: {each: bank}}}\n";
    let folder = folder("name: Example\n", "", assemblies, "");
    assert!(Present::of(&folder).places.is_empty());
}

#[test]
fn a_fitting_without_at_is_where_it_is_planned() {
    let parts = "
pump:
  name: Pump
  pieces:
    P1: {goes: a/one}
    P2: {goes: a/two, fitted: [{as: mock-up, when: 2026-01-10}]}
    P3: {goes: a/three, fitted: [{as: final, when: 2026-01-10, at: a/four}]}
    P4: {goes: a/five, fitted: [{as: final, when: 2026-01-10, until: 2026-01-11}]}
    P5: {fitted: [{as: final, when: 2026-01-10}]}
";
    let assemblies = "a: {places: {one: {}, two: {}, three: {}, four: {}, five: {}}}\n";
    assert_eq!(
        stays(parts, assemblies),
        [
            "1 of pump/P1 in a/one: planned bench",
            "1 of pump/P2 in a/two: planned mock-up",
            "1 of pump/P3 in a/four: final",
            "1 of pump/P3 in a/three: planned bench",
            "1 of pump/P4 in a/five: planned bench",
        ]
    );
}

#[test]
fn a_lot_fills_what_it_names_and_no_more() {
    let assemblies = "
a:
  places: {cushion: {each: cylinder}, caps: {count: 10}, one: {}, two: {}, three: {}}
";
    let lot = |fields: &str| {
        let parts = format!("lot:\n  name: Lot\n  pieces:\n    L: {{{fields}}}\n");
        stays(&parts, assemblies)
    };
    assert_eq!(
        lot("count: 3, goes: a/cushion"),
        [
            "1 of lot/L in a/cushion-1: planned bench",
            "1 of lot/L in a/cushion-2: planned bench",
            "1 of lot/L in a/cushion-3: planned bench",
        ]
    );
    assert_eq!(
        lot("count: 12, goes: a/caps"),
        ["10 of lot/L in a/caps: planned bench"]
    );
    assert_eq!(
        lot("count: 3, goes: [a/one, a/two]"),
        [
            "1 of lot/L in a/one: planned bench",
            "1 of lot/L in a/two: planned bench",
        ]
    );
    // One more place than there are pieces: told as a conflict, so it is there.
    assert_eq!(lot("count: 2, goes: [a/one, a/two, a/three]").len(), 3);
    assert_eq!(
        lot("count: 4, goes: [a/cushion-2, a/cushion]").len(),
        4,
        "one place named by itself and with its group is one place"
    );
    let on = |count: &str, at: &str| {
        lot(&format!(
            "count: 4, fitted: [{{as: mock-up, when: 2026-01-10, at: {at}{count}}}]"
        ))
    };
    assert_eq!(
        on("", "a/cushion-2"),
        ["1 of lot/L in a/cushion-2: mock-up"]
    );
    assert_eq!(on(", count: 3", "a/one"), ["3 of lot/L in a/one: mock-up"]);
    assert_eq!(on("", "a/caps"), ["4 of lot/L in a/caps: mock-up"]);
    assert_eq!(on(", count: 2", "a/cushion").len(), 2);
}

#[test]
fn a_lot_goes_where_nothing_else_is_for() {
    let parts = "
injector:
  name: Injector
  pieces:
    L: {count: 3, goes: a/injector}
    N: {goes: a/injector-2}
";
    assert_eq!(
        stays(parts, "a: {places: {injector: {each: cylinder}}}\n"),
        [
            "1 of injector/L in a/injector-1: planned bench",
            "1 of injector/L in a/injector-3: planned bench",
            "1 of injector/L in a/injector-4: planned bench",
            "1 of injector/N in a/injector-2: planned bench",
        ]
    );
}

#[test]
fn a_whole_lot_that_is_on_anew_is_where_it_was() {
    let parts = "
cushion:
  name: Cushion
  pieces:
    L:
      count: 4
      goes: a/cushion
      fitted: [{as: mock-up, when: 2026-01-10}, {as: final, when: 2026-02-10}]
";
    let said = stays(parts, "a: {places: {cushion: {each: cylinder}}}\n");
    assert_eq!(said.len(), 4);
    assert!(
        said.iter().all(|one| one.ends_with("planned final")),
        "{said:?}"
    );
    let parts = "
cushion:
  name: Cushion
  pieces:
    L:
      count: 4
      fitted:
        - {as: mock-up, when: 2026-01-10, at: a/cushion, count: 2}
        - {as: final, when: 2026-02-10, at: a/cushion, count: 2}
";
    let said = stays(parts, "a: {places: {cushion: {each: cylinder}}}\n");
    let finals = said.iter().filter(|one| one.ends_with("final")).count();
    assert_eq!(
        (said.len(), finals),
        (4, 2),
        "two and two are four: {said:?}"
    );
}

#[test]
fn what_is_closed_over_is_as_good_as_final() {
    let parts = "
pump:
  name: Pump
  pieces:
    P1: {goes: inner/one, fitted: [{as: mock-up, when: 2026-01-10}]}
    P2: {goes: inner/two}
    P3: {goes: open/one, fitted: [{as: mock-up, when: 2026-01-10}]}
";
    let assemblies = "
outer: {in: car, closed: [{when: 2026-02-10}]}
middle: {in: outer}
inner: {in: middle, places: {one: {}, two: {}}}
open: {in: car, closed: [{when: 2026-02-10, until: 2026-02-11}], places: {one: {}}}
";
    assert_eq!(
        stays(parts, assemblies),
        [
            "1 of pump/P1 in inner/one: planned mock-up as good as final",
            "1 of pump/P2 in inner/two: planned bench",
            "1 of pump/P3 in open/one: planned mock-up",
        ]
    );
}

#[test]
fn assemblies_in_a_ring_end_somewhere() {
    let assemblies = "
a: {in: b, places: {one: {}}}
b: {in: c}
c: {in: a}
d: {in: a}
e: {in: e}
";
    let folder = folder(ENGINE, "", assemblies, "");
    let present = Present::of(&folder);
    let around = |id: &str| -> Vec<&str> {
        let around = present.around(present.assembly_named(id).unwrap());
        around
            .iter()
            .map(|one| present.assemblies[*one].id)
            .collect()
    };
    assert_eq!(around("a"), ["a", "b", "c"]);
    assert_eq!(around("c"), ["c"]);
    assert_eq!(around("d"), ["d", "a", "b", "c"]);
    assert_eq!(around("e"), ["e"]);
}

#[test]
fn views_show_what_is_on_or_what_is_planned() {
    let parts = "
pump:
  name: Pump
  pieces:
    P1: {goes: a/one}
    P2: {fitted: [{as: mock-up, when: 2026-01-10, at: a/one}]}
    P3: {goes: a/two}
    P4: {fitted: [{as: mock-up, when: 2026-01-10, at: a/three}]}
";
    let whole = folder(
        ENGINE,
        parts,
        "a: {places: {one: {}, two: {}, three: {}}}\n",
        "",
    );
    let present = Present::of(&whole);
    let seen = |view| -> Vec<&str> {
        let stays = present.stays_in(view);
        stays.map(|stay| present.piece(stay).mark).collect()
    };
    // Places come by their names: one, three, two.
    assert_eq!(seen(View::Now), ["P2", "P4", "P3"]);
    assert_eq!(seen(View::Plan), ["P1", "P4", "P3"]);
    assert_eq!(present.views(), [View::Now, View::Plan]);

    let parts = "pump: {name: Pump, pieces: {P1: {goes: a/one}}}\n";
    let one = folder(ENGINE, parts, "a: {places: {one: {}}}\n", "");
    assert_eq!(Present::of(&one).views(), [View::Now]);
}

#[test]
fn events_that_touch_on_a_day_do_not_meet() {
    let parts = "
pump:
  name: Pump
  pieces:
    P:
      goes: a/one
      fitted:
        - {as: mock-up, when: 2026-01-10, until: 2026-01-20}
        - {as: mock-up, when: 2026-01-20, until: 2026-01-30}
        - {as: mock-up, when: 2026-01-15, until: 2026-01-16}
        - {as: mock-up, when: 2026-01-25}
        - {as: final, when: 2026-03-01}
";
    let folder = folder(ENGINE, parts, "a: {places: {one: {}}}\n", "");
    let present = Present::of(&folder);
    let events = &present.events;
    let mut meeting = Vec::new();
    for a in 0..events.len() {
        for b in a + 1..events.len() {
            assert_eq!(events[a].meets(&events[b]), events[b].meets(&events[a]));
            if events[a].meets(&events[b]) {
                meeting.push((a, b));
            }
        }
    }
    assert_eq!(meeting, [(0, 2), (1, 3), (3, 4)]);
    let stay = &present.stays[0];
    assert_eq!((stay.event, stay.stage), (Some(4), Stage::Final));
}

#[test]
fn what_went_out_is_away_until_it_is_back() {
    let parts = "
bolt:
  name: Bolt
  pieces:
    L1: {count: 8}
    L2: {count: 8}
    L3: {count: 8}
    L4: {count: 8}
    B1: {out-with: plating}
    B2: {out-with: done}
    B3: {out-with: asked}
";
    let jobs = "
plating:
  kind: send-out
  sent: 2026-02-01
  lines:
    - {what: parts/bolt/L1, out: 6, back: 2, lost: 1}
    - {what: parts/bolt/L2, out: 3, back: 3}
    - {what: parts/bolt/L3, out: 2}
    - {what: parts/bolt/L3, out: 3}
    - {what: parts/bolt/L4}
done: {kind: send-out, sent: 2026-01-01, came-back: 2026-01-10}
asked: {kind: send-out, does: ask what it costs}
";
    let folder = folder(ENGINE, parts, "", jobs);
    let present = Present::of(&folder);
    let away = |name: &str| {
        let piece = &present.pieces[present.piece_named(name).unwrap()];
        piece.away.map(|away| (away.job, away.count))
    };
    assert_eq!(away("bolt/L1"), Some(("plating", 3)));
    assert_eq!(away("bolt/L2"), None);
    assert_eq!(away("bolt/L3"), Some(("plating", 5)));
    assert_eq!(away("bolt/L4"), Some(("plating", 8)));
    assert_eq!(away("bolt/B1"), Some(("plating", 1)));
    assert_eq!(away("bolt/B2"), None);
    assert_eq!(away("bolt/B3"), None);
}

#[test]
fn what_leads_to_nothing_is_left_out() {
    let parts = "
pump:
  name: Pump
  pieces:
    P1: {goes: nowhere/at-all, fitted: [{as: final, when: 2026-01-10}]}
    P2: {goes: a/one, fitted: [{as: final, when: 2026-01-10, at: a/none}]}
";
    assert_eq!(
        stays(parts, "a: {in: unknown, places: {one: {}}}\n"),
        ["1 of pump/P2 in a/one: planned bench"]
    );
}

/// Of each hole of the joint `engine/j`: how far its bolt reaches at most and how much of it
/// is engaged, in tenths of a millimetre, and the thread of its hole.
fn reaches(fasteners: &str, into: &str, holes: &str) -> Vec<(String, String)> {
    let assemblies = format!(
        "engine:\n  joints:\n    j:\n      grip: 10 mm\n      into: {into}\n      holes: {holes}\n"
    );
    let files = [
        ("build.yaml", ENGINE),
        ("fasteners/all.yaml", fasteners),
        ("assemblies/all.yaml", &assemblies),
    ];
    let files = files.map(|(path, text)| RawFile {
        path: path.to_owned(),
        content: Content::Bytes(text.as_bytes().to_vec()),
    });
    let folder = Folder::read(files.to_vec()).unwrap();
    let present = Present::of(&folder);
    let joint = &present.joints[0];
    let told = joint.holes.iter().map(|hole| {
        let (bolt, _) = hole.judged().unwrap();
        let reach = match hole.reach(joint, bolt.record) {
            None => "none".to_owned(),
            Some((least, most)) => format!(
                "{}{:.1}/{:.1}",
                if least.is_none() { "at most " } else { "" },
                in_mm(most.beyond),
                in_mm(most.engaged)
            ),
        };
        let thread = hole.bore(joint).thread;
        let thread = thread.map_or_else(|| "none".to_owned(), |thread| thread.text().to_owned());
        (reach, thread)
    });
    told.collect()
}

const HARDWARE: &str = "
bolt: {form: bolt, thread: M8x1.25, length: 30 mm}
inch: {form: bolt, thread: 3/8-16UNC, length: 1 in}
stud: {form: stud, thread: M8x1.25, set-in: 12 mm, length: 40 mm}
nut: {form: nut, thread: M8x1.25}
washer: {form: washer, thickness: 1.5 mm}
vague: {form: washer}
";

#[test]
fn how_far_hardware_reaches_is_the_length_less_the_stack() {
    let holes = "{a: {calls-for: bolt}, b: {calls-for: bolt, washers: [washer]},
        c: {calls-for: bolt, washers: [vague]}, d: {calls-for: bolt, grip: 12 mm},
        e: {calls-for: stud}, f: {calls-for: bolt, then: nut}, g: {calls-for: inch}}";
    let told = reaches(
        HARDWARE,
        "{depth: 25 mm, threaded: 16 mm, blind: true}",
        holes,
    );
    let told: Vec<&str> = told.iter().map(|(reach, _)| reach.as_str()).collect();
    let should = [
        "20.0/16.0",
        "18.5/16.0",
        "at most 20.0/16.0",
        "18.0/16.0",
        "12.0/12.0",
        "none",
        "15.4/15.4",
    ];
    assert_eq!(told, should);
}

#[test]
fn a_repaired_hole_has_the_thread_and_depth_of_its_repair() {
    let holes =
        "{a: {calls-for: bolt}, b: {calls-for: bolt, repaired: {kind: coil insert, depth: 12 mm}},
        c: {calls-for: bolt, repaired: {kind: oversize thread}},
        d: {calls-for: bolt, repaired: {kind: oversize thread, thread: M10x1.5, depth: 18 mm}}}";
    let told = reaches(
        HARDWARE,
        "{thread: M8x1.25, depth: 25 mm, threaded: 16 mm, blind: true}",
        holes,
    );
    let should = [
        ("20.0/16.0", "M8x1.25"),
        ("20.0/12.0", "M8x1.25"),
        ("20.0/16.0", "none"),
        ("20.0/18.0", "M10x1.5"),
    ];
    assert_eq!(told, should.map(|(a, b)| (a.to_owned(), b.to_owned())));
}

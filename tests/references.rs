//! Names are checked wherever a reference can stand, at the reference's own
//! position. The spots come from the schemas themselves: for each field that
//! refers, a record is made with a name that leads nowhere.

use jiff::civil::date;
use matchmark::folder::{Content, Folder, RawFile, schema_of};
use matchmark::lint::{self, Facts};
use matchmark::model::Kind;
use matchmark::schema::shape::{Meaning, Shape, Shapes, Target};

fn raw(path: &str, text: &str) -> RawFile {
    RawFile {
        path: path.to_owned(),
        content: Content::Bytes(text.as_bytes().to_vec()),
    }
}

fn unknown(files: Vec<RawFile>) -> Vec<(String, String, String)> {
    let folder = Folder::read(files).unwrap();
    let facts = Facts::on(date(2026, 3, 1));
    lint::check(&folder, &facts)
        .iter()
        .filter(|finding| finding.rule == "unknown-reference")
        .map(|finding| {
            (
                finding.place.file.clone(),
                finding.place.start.to_string(),
                finding.message.clone(),
            )
        })
        .collect()
}

/// All the ways down to a field that refers, as flow YAML with `@` at the spot.
fn ways(shapes: &Shapes, shape: &Shape, before: &str, after: &str, all: &mut Vec<String>) {
    // What a reading is of may be called anything; only near slips are told.
    let free = Meaning::Reference(Target::OwnLimit);
    if matches!(shape.meaning, Meaning::Reference(_)) && shape.meaning != free {
        all.push(format!("{before}@{after}"));
    }
    if shape.key_meaning.is_some() {
        all.push(format!("{before}{{@: x}}{after}"));
    }
    for key in shape.keys.keys() {
        if let Some(inner) = shapes.under(shape, key) {
            let before = format!("{before}{{{key}: ");
            ways(shapes, inner, &before, &format!("}}{after}"), all);
        }
    }
    if let Some(inner) = shapes
        .under(shape, "x1")
        .filter(|_| !shape.keys.contains_key("x1"))
    {
        let before = format!("{before}{{x1: ");
        ways(shapes, inner, &before, &format!("}}{after}"), all);
    }
    if let Some(inner) = shapes.item(shape) {
        ways(
            shapes,
            inner,
            &format!("{before}["),
            &format!("]{after}"),
            all,
        );
    }
}

#[test]
fn every_spot_where_a_reference_can_stand() {
    let mut count = 0;
    for kind in Kind::ALL {
        let shapes = &schema_of(*kind).unwrap().shapes;
        let mut all = Vec::new();
        ways(shapes, shapes.top(), "", "", &mut all);
        for way in all {
            // A plug that lists no cavities may have any.
            let way = way
                .replace("{fuses:", "{cavities: 1-2, fuses:")
                .replace("{joins:", "{cavities: 1-2, joins:")
                .replace("{idle: {@", "{cavities: 1-2, idle: {@");
            let column = way.find('@').unwrap() + 1;
            let text = way.replace('@', "nobody-there");
            let path = match kind {
                Kind::Build => "build.yaml".to_owned(),
                _ => format!("{}/all.yaml", kind.folder()),
            };
            let mut files = vec![raw(&path, &text)];
            if *kind != Kind::Build {
                files.push(raw("build.yaml", "name: Brindlet\n"));
            }
            let found = unknown(files);
            let at = format!("1:{column}");
            assert!(
                found.iter().any(|one| one.0 == path && one.1 == at),
                "{text}: {found:?}"
            );
            count += 1;
        }
    }
    assert!(count > 120, "only {count} spots");
}

/// What each kind of reference accepts, and what it says of the rest.
#[test]
fn references_of_each_kind() {
    let build = "name: Brindlet\ncylinders: 4\nbanks: 2\nspots: {bay: engine bay}\n\
                 tools: {tap: {}}\nwrenches: {small: {}}\nsources: {book: {}}\npeople: [builder, helper, guest]\n";
    let base = || {
        vec![
            raw("build.yaml", build),
            raw("donors/all.yaml", "van: {maker: Pell}\n"),
            raw(
                "parts/all.yaml",
                "pump: {name: Pump, pieces: {P1: {}, \"2\": {}}}\n",
            ),
            raw(
                "assemblies/all.yaml",
                "engine:\n  in: car\n  places: {head: {}, coil: {each: cylinder}, cam: {each: bank}, mount: {each: hand}}\n  \
                 joints: {caps: {holes: {front: {}}, order: [front]}}\n",
            ),
            raw("fasteners/all.yaml", "bolt: {form: bolt}\n"),
            raw(
                "plugs/all.yaml",
                "unit: {cavities: 1-4}\nsplice: {kind: splice}\nfree: {}\n",
            ),
            raw("circuits/all.yaml", "feed: {does: feeds, wires: {a: {}}}\n"),
            raw("jobs/all.yaml", "job: {does: work}\n"),
            raw(
                "decisions/all.yaml",
                "which: {asks: Which, options: {one: {}}, chosen: one}\n",
            ),
        ]
    };
    let said = |path: &str, text: &str| -> Vec<String> {
        let mut files = base();
        files.push(raw(path, text));
        unknown(files).into_iter().map(|one| one.2).collect()
    };
    let none: [&str; 0] = [];
    for good in [
        "parts/pump",
        "parts/pump/P1",
        "parts/pump/2",
        "assemblies/engine/head",
        "assemblies/engine/caps/front",
        "assemblies/engine/coil-4",
        "assemblies/engine/coil",
        "donors/van",
        "fasteners/bolt",
        "plugs/unit/4",
        "plugs/free/A7",
        "circuits/feed/a",
        "jobs/job",
        "decisions/which/one",
        "tools/tap",
        "wrenches/small",
        "sources/book",
        "car",
        "car/bay",
        "build",
    ] {
        let text = format!("x: {{does: x, needs: [\"{good}\"]}}\n");
        assert_eq!(said("jobs/more.yaml", &text), none, "{good}");
    }
    for (bad, says) in [
        ("parts/pumpe", "there is no part `pumpe`"),
        ("parts/pump/P9", "the part `pump` has no piece `P9`"),
        (
            "assemblies/engine/coil-5",
            "the assembly `engine` has no place or joint `coil-5`",
        ),
        (
            "assemblies/engine/caps/rear",
            "the assembly `engine` has no place or joint `caps/rear`",
        ),
        (
            "plugs/unit/5",
            "the plug `unit` has no cavity `5`; it has 1-4",
        ),
        ("plugs/splice/1", "`splice` is a splice and has no cavities"),
        ("circuits/feed/b", "the circuit `feed` has no wire `b`"),
        (
            "decisions/which/two",
            "the decision `which` has no option `two`",
        ),
        (
            "donors/van/x",
            "nothing inside a donor has a name of its own",
        ),
        ("tools/tapp", "`build.yaml` lists no tool `tapp`"),
        ("car/boot", "`build.yaml` names no spot `boot` on the car"),
        ("pump", "`pump` does not say which kind of record it is"),
        (
            "pump/P1",
            "`pump/P1` does not say which kind of record it is",
        ),
        (
            "parts/job",
            "there is no part `job`, though there is a job of that name",
        ),
    ] {
        let text = format!("x: {{does: x, needs: [\"{bad}\"]}}\n");
        assert_eq!(said("jobs/more.yaml", &text), [says], "{bad}");
    }
    for good in [
        "engine/head",
        "engine/coil-1",
        "engine/cam-2",
        "engine/mount-left",
    ] {
        let text = format!("x: {{name: X, pieces: {{A: {{goes: {good}}}}}}}\n");
        assert_eq!(said("parts/more.yaml", &text), none, "{good}");
    }
    for (bad, says) in [
        (
            "engine/coil",
            "`engine/coil` is a place for each cylinder, and a single piece fills only one of them",
        ),
        ("engine/cam-3", "the assembly `engine` has no place `cam-3`"),
        (
            "engine",
            "`engine` names no place: a place is its assembly, a slash, and its name",
        ),
        ("motor/head", "there is no assembly `motor`"),
    ] {
        let text = format!("x: {{name: X, pieces: {{A: {{goes: {bad}}}}}}}\n");
        assert_eq!(said("parts/more.yaml", &text), [says], "{bad}");
    }
    for (good, count) in [
        ("engine/coil", 4),
        ("[engine/coil, engine/head]", 5),
        ("engine/cam-2", 1),
    ] {
        let text = format!("x: {{name: X, pieces: {{A: {{count: {count}, goes: {good}}}}}}}\n");
        assert_eq!(said("parts/more.yaml", &text), none, "{good}");
    }
    let fitted = "fitted: [{as: mock-up, when: 2026-01-01, at: engine/coil, count: 4}]";
    let text = format!("x: {{name: X, pieces: {{A: {{{fitted}}}}}}}\n");
    assert_eq!(said("parts/more.yaml", &text), none);
    assert_eq!(
        said(
            "parts/more.yaml",
            "x: {name: X, pieces: {A: {count: 1, goes: engine/mount}}}\n"
        ),
        ["`engine/mount` is a place for each hand, and a single piece fills only one of them"]
    );
    let hardware = |from: &str| {
        let done = format!("{{as: mock-up, when: 2026-01-01, hardware: {from}}}");
        let text = format!("more: {{joints: {{j: {{holes: {{a: {{done: [{done}]}}}}}}}}}}\n");
        said("assemblies/more.yaml", &text)
    };
    for good in [
        "job",
        "jobs/job",
        "fasteners/bolt",
        "parts/pump/2",
        "donors/van",
    ] {
        assert_eq!(hardware(good), none, "{good}");
    }
    assert_eq!(hardware("jobb"), ["there is no job `jobb`"]);
    assert_eq!(
        hardware("parts/pump/9"),
        ["the part `pump` has no piece `9`"]
    );
    let joins = |two: &str| {
        let text = format!(
            "lock: {{cavities: \"30, A-C\", joins: [{{cavities: [{two}], by: switch}}]}}\n"
        );
        said("plugs/more.yaml", &text)
    };
    assert_eq!(joins("\"30\", B"), none);
    assert_eq!(
        joins("\"30\", D"),
        ["there is no cavity `D` here: the plug has 30, A-C"]
    );
    let reading = |what: &str| {
        let inner = format!(
            "limits: {{bore-wear: {{most: 1 mm}}}}, pieces: {{A: {{readings: [{{what: {what}, is: 1 mm}}]}}}}"
        );
        said("parts/more.yaml", &format!("x: {{name: X, {inner}}}\n"))
    };
    for good in ["bore-wear", "flow", "skirt wear"] {
        assert_eq!(reading(good), none, "{good}");
    }
    for bad in ["bore wear", "Bore-wear", "bor-wear"] {
        let says = format!("no limit is stated for `{bad}`, though one is for `bore-wear`");
        assert_eq!(reading(bad), [says], "{bad}");
    }
    assert_eq!(
        said(
            "jobs/more.yaml",
            "x: {does: x, spent: [{when: 2026-01-01, by: guest}]}\n"
        ),
        none
    );
    assert_eq!(
        said(
            "jobs/more.yaml",
            "x: {does: x, spent: [{when: 2026-01-01, by: gast}]}\n"
        ),
        ["`build.yaml` lists nobody called `gast`"]
    );
    assert_eq!(
        said(
            "circuits/more.yaml",
            "y: {wires: {a: {from: unit/3, to: splice}, b: {crimped-with: [a, c]}}}\n"
        ),
        ["there is no wire `c` here"]
    );
}

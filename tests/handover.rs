//! Handing a build over, with real git: what leaves, what does not, and that nothing at home
//! changes. The judges are git itself, which clones, checks and unpacks every object, and
//! crates that read archives and EXIF.

#![cfg(target_os = "linux")]
#![allow(clippy::disallowed_methods)]

mod bench;

use std::collections::BTreeMap;
use std::io::Read;
use std::path::Path;
use std::process::Command;

use bench::Bench;

/// Private texts that must be in no object of a pack.
const SECRETS: [&str; 7] = [
    "310 EUR",
    "OW-20114",
    "Marrow Lane",
    "97 EUR",
    "1234 EUR",
    "receipt-77",
    "4321 EUR",
];

const BUILD: &str = "name: Brindlet\ncar: {chassis-number: OW-20114}\npeople: [builder, helper]\n\
    private: [donors/*/price, donors/*/place, parts/**/bought, jobs/**/price, \
    build/car/chassis-number, photos/bill]\n";

fn types(bench: &Bench, line: &str) -> String {
    let came = bench.types(line);
    assert!(!came.contains("> (exit"), "{line}\n{came}");
    came
}

fn git(folder: &Path, words: &[&str]) -> Vec<u8> {
    let output = Command::new("git")
        .args(["-c", "safe.directory=*"])
        .args(words)
        .current_dir(folder)
        .env("GIT_CONFIG_NOSYSTEM", "1")
        .env("GIT_CONFIG_GLOBAL", "/dev/null")
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "git {words:?}: {said}");
    output.stdout
}

fn text(folder: &Path, words: &[&str]) -> String {
    String::from_utf8(git(folder, words)).unwrap()
}

fn holds(bytes: &[u8], text: &[u8]) -> bool {
    bytes.windows(text.len()).any(|window| window == text)
}

/// A JPEG that tells where it was taken: EXIF with a latitude of 47 degrees and odd parts,
/// big-endian (TIFF 6.0, Exif 2.3). Two numbers make it one of its kind.
fn picture(one: u8, other: u8) -> (Vec<u8>, Vec<u8>) {
    let field = |tag: u16, kind: u16, count: u32, value: u32| {
        let mut bytes = Vec::new();
        bytes.extend(tag.to_be_bytes());
        bytes.extend(kind.to_be_bytes());
        bytes.extend(count.to_be_bytes());
        bytes.extend(value.to_be_bytes());
        bytes
    };
    let mut tiff = b"MM\0*\0\0\0\x08".to_vec();
    // The first directory, with the pointer to the second at 26.
    tiff.extend(1_u16.to_be_bytes());
    tiff.extend(field(0x8825, 4, 1, 26));
    tiff.extend(0_u32.to_be_bytes());
    tiff.extend(2_u16.to_be_bytes());
    tiff.extend(field(1, 2, 2, u32::from_be_bytes(*b"N\0\0\0")));
    let at = 26 + 2 + 2 * 12 + 4;
    tiff.extend(field(2, 5, 3, at));
    tiff.extend(0_u32.to_be_bytes());
    let mut degrees = Vec::new();
    for part in [
        47_u32,
        1,
        0x5A_00 + u32::from(one),
        977,
        0xA5_00 + u32::from(other),
        991,
    ] {
        degrees.extend(part.to_be_bytes());
    }
    tiff.extend(&degrees);
    let mut jpeg = vec![0xff, 0xd8, 0xff, 0xe1];
    jpeg.extend(u16::try_from(tiff.len() + 8).unwrap().to_be_bytes());
    jpeg.extend(b"Exif\0\0");
    jpeg.extend(&tiff);
    jpeg.extend([0xff, 0xda, 0, 2, one, other, 0xff, 0xd9]);
    (jpeg, degrees)
}

fn writes(bench: &Bench, file: &str, bytes: &[u8]) {
    let path = bench.path("work").join(file);
    std::fs::create_dir_all(path.parent().unwrap()).unwrap();
    std::fs::write(path, bytes).unwrap();
}

fn commit(bench: &mut Bench, number: &mut usize, message: &str) {
    *number += 1;
    bench.clock = format!("2026-02-{:02} 20:{:02}", *number / 2 + 1, *number);
    std::fs::write(bench.path("message"), message).unwrap();
    types(
        bench,
        "git add -A && git commit -q --no-verify --allow-empty -F ../message",
    );
}

/// A build whose history has private things in every corner. Gives the degrees of its
/// pictures.
fn built(bench: &mut Bench) -> Vec<Vec<u8>> {
    let mut number = 0;
    types(bench, "git init -q -b main .");
    bench.writes("build.yaml", BUILD);
    bench.writes(
        "donors/all.yaml",
        "# what came\npell-van:\n  maker: Pell\n  price: 310 EUR  # 310 EUR was too much\n  \
         place: Marrow Lane\n",
    );
    bench.writes("README.md", "# Brindlet\n");
    bench.writes(".gitattributes", "*.yaml text\n");
    commit(
        bench,
        &mut number,
        "The van, for 310 EUR\n\nFrom Marrow Lane.\n",
    );
    // A whole record that is gone long since, in a file that was renamed.
    bench.writes("donors/old.yaml", "tarn: {maker: Tarn, price: 97 EUR}\n");
    commit(bench, &mut number, "A second donor");
    types(bench, "git mv donors/old.yaml donors/gone.yaml");
    commit(bench, &mut number, "Renamed");
    bench.writes("donors/gone.yaml", "tarn: {maker: Tarn\n  price: 97 EUR\n");
    commit(bench, &mut number, "Torn");
    types(
        bench,
        "mkdir -p old && git mv donors/gone.yaml old/gone.yaml",
    );
    commit(bench, &mut number, "In the wrong place");
    types(bench, "git mv old/gone.yaml notes.txt");
    commit(bench, &mut number, "As a note");
    types(bench, "git rm -q notes.txt");
    commit(bench, &mut number, "Gone");
    // Items of a list, pictures, a file that a private record names, links.
    bench.writes(
        "jobs/all.yaml",
        "order:\n  kind: order\n  lines:\n    - {what: parts/pump, price: 1234 EUR}\n    \
         - {what: parts/pump}\n",
    );
    bench.writes(
        "parts/all.yaml",
        "pump:\n  name: Pump\n  pieces:\n    P1:\n      donor: pell-van\n      \
         bought: {price: 4321 EUR, when: 2026-02-11}\n",
    );
    let (first, at_first) = picture(1, 2);
    let (second, at_second) = picture(3, 4);
    let (bill, at_bill) = picture(5, 6);
    writes(bench, "photos/a.jpg", &first);
    writes(bench, "photos/receipt-77.jpg", &bill);
    bench.writes(
        "photos/all.yaml",
        "a: {file: a.jpg, shows: [parts/pump]}\nbill: {file: receipt-77.jpg}\n",
    );
    types(bench, "ln -s ../../outside photos/link.jpg");
    commit(bench, &mut number, "Pictures");
    writes(bench, "photos/a.jpg", &second);
    commit(bench, &mut number, "A better picture");
    // A merge, with private things on the side that comes in.
    types(bench, "git switch -q -c side HEAD~2");
    bench.writes("donors/side.yaml", "side: {maker: Side, price: 97 EUR}\n");
    commit(bench, &mut number, "On the side: 97 EUR");
    types(
        bench,
        "git switch -q main && git merge -q --no-verify -m 'The side comes in' side",
    );
    // What is not handed over: another branch, a tag, a stash.
    types(
        bench,
        "git switch -q -c elsewhere && git commit -q --no-verify --allow-empty -m '4321 EUR'",
    );
    types(bench, "git switch -q main && git tag -m '1234 EUR' paid");
    bench.writes("parts/all.yaml", "pump: {name: Stashed 1234 EUR}\n");
    types(bench, "git stash -q");
    bench.clock = "2026-03-01 20:00".to_owned();
    vec![at_first, at_second, at_bill]
}

/// All objects of a repository, unpacked, one after another.
fn objects(folder: &Path) -> Vec<u8> {
    let words = ["cat-file", "--batch-all-objects", "--batch", "--buffer"];
    git(folder, &words)
}

fn tells_nothing(bytes: &[u8], degrees: &[Vec<u8>], of: &str) {
    for secret in SECRETS {
        assert!(!holds(bytes, secret.as_bytes()), "{of} tells {secret}");
    }
    for place in degrees {
        assert!(!holds(bytes, place), "{of} tells where it was taken");
    }
}

/// What a repository is: refs but ours, what is checked out, staged, stashed and said.
fn state(folder: &Path) -> String {
    let refs = text(folder, &["for-each-ref"]);
    let refs: Vec<&str> = refs
        .lines()
        .filter(|line| !line.contains("refs/matchmark/"))
        .collect();
    let mut state = refs.join("\n");
    for words in [
        &["status", "--porcelain"][..],
        &["ls-files", "--stage"],
        &["reflog", "--all"],
        &["config", "--local", "--list"],
        &["rev-parse", "HEAD"],
    ] {
        state.push_str(&text(folder, words));
    }
    state
}

fn log(folder: &Path, format: &str) -> String {
    text(
        folder,
        &["log", "--topo-order", &format!("--format={format}"), "HEAD"],
    )
}

#[test]
fn a_bundle_with_its_history_tells_nothing() {
    let mut bench = Bench::new();
    let degrees = built(&mut bench);
    let work = bench.path("work");
    let real = objects(&work);
    for secret in SECRETS {
        assert!(
            holds(&real, secret.as_bytes()),
            "{secret} is there to be found"
        );
    }
    for place in &degrees {
        assert!(holds(&real, place), "a position is there to be found");
    }
    let before = state(&work);
    let said = types(
        &bench,
        "matchmark handover ../h.bundle --history all --to helper",
    );
    assert_eq!(before, state(&work), "the real repository is as it was");
    git(&work, &["fsck", "--strict"]);
    for word in [
        "donors/*/price: 2 values",
        "build/car/chassis-number: 1 value",
        "photos/bill: 1 value",
        "photos/a.jpg: where it was taken",
        "photos/receipt-77.jpg: a private field names it",
        "photos/link.jpg: it is a link",
        "old/gone.yaml, in older commits: it is YAML",
        "notes.txt, in older commits: a private value stands in",
        "private values in 2 messages",
        "git clone h.bundle h",
    ] {
        assert!(said.contains(word), "{word}\n{said}");
    }

    types(&bench, "git clone -q ../h.bundle ../h");
    let clone = bench.path("h");
    git(&clone, &["fsck", "--strict"]);
    tells_nothing(&objects(&clone), &degrees, "the bundle");
    // What was handed over is kept at home, and tells no more there.
    let given = text(
        &work,
        &[
            "for-each-ref",
            "--format=%(objectname)",
            "refs/matchmark/handed/*/given",
        ],
    );
    assert_eq!(given.trim(), text(&clone, &["rev-parse", "HEAD"]).trim());
    // As many commits, by the same and at the same time; the first page is one more.
    let ours = log(&work, "%an <%ae> %ad|%cn <%ce> %cd");
    let theirs = log(&clone, "%an <%ae> %ad|%cn <%ce> %cd");
    let (_, theirs) = theirs.split_once('\n').unwrap();
    assert_eq!(ours, theirs);
    let shape = |folder: &Path| {
        log(folder, "%p")
            .lines()
            .map(|line| line.split(' ').count())
            .collect::<Vec<_>>()
    };
    assert_eq!(shape(&work), shape(&clone)[1..]);
    let subjects = log(&clone, "%s");
    assert!(subjects.contains("The van, for [left out]"), "{subjects}");
    assert!(subjects.contains("The side comes in"), "{subjects}");
    let names = text(&clone, &["for-each-ref", "--format=%(refname)"]);
    assert!(!names.contains("side") && !names.contains("tag"), "{names}");

    // A file that has nothing private stays byte for byte, and so does what is beside it.
    let file = |path: &str| std::fs::read_to_string(clone.join(path)).unwrap();
    assert_eq!(file("README.md"), "# Brindlet\n");
    assert_eq!(
        file("jobs/all.yaml"),
        "order:\n  kind: order\n  lines:\n    - {what: parts/pump}\n    - {what: parts/pump}\n"
    );
    assert!(file("donors/all.yaml").contains("maker: Pell"));
    assert!(!clone.join("photos/link.jpg").exists());
    // Two patterns keep one record's file: the picture of the other is there and readable.
    let picture = std::fs::read(clone.join("photos/a.jpg")).unwrap();
    assert!(picture.starts_with(&[0xff, 0xd8]) && picture.ends_with(&[3, 4, 0xff, 0xd9]));
    let mut bytes = std::io::Cursor::new(&picture);
    if let Ok(exif) = exif::Reader::new()
        .continue_on_error(true)
        .read_from_container(&mut bytes)
    {
        assert!(exif.get_field(exif::Tag::GPSLatitude, exif::In::PRIMARY).is_none_or(|field| {
            !matches!(&field.value, exif::Value::Rational(parts) if parts.iter().any(|part| part.num != 0))
        }));
    }
    // In the clone all goes on as anywhere.
    let check = types(&bench, "cd ../h && matchmark guard . && matchmark check");
    assert!(
        !check.contains("handed-over") && !check.contains("unmatched-private"),
        "{check}"
    );
    types(
        &bench,
        "cd ../h && echo '# looked at' >>parts/all.yaml && git commit -qam 'Looked at'",
    );
    assert!(types(&bench, "cd ../h && matchmark changes HEAD~1 HEAD").contains("> "));
    // And may be handed on.
    types(
        &bench,
        "cd ../h && matchmark handover ../on.bundle && git clone -q ../on.bundle ../on",
    );
    tells_nothing(&objects(&bench.path("on")), &degrees, "what was handed on");
}

#[test]
fn without_history_there_is_one_commit() {
    let mut bench = Bench::new();
    let degrees = built(&mut bench);
    let work = bench.path("work");
    let before = state(&work);
    types(&bench, "matchmark handover ../h.bundle");
    assert_eq!(before, state(&work));
    types(&bench, "git clone -q ../h.bundle ../h");
    let clone = bench.path("h");
    assert_eq!(log(&clone, "%P").trim(), "");
    tells_nothing(&objects(&clone), &degrees, "the bundle");
    git(&clone, &["fsck", "--strict"]);

    // A folder and an archive hold the same files.
    types(
        &bench,
        "matchmark handover ../plain && matchmark handover ../plain.zip",
    );
    let listed = text(&clone, &["ls-files"]);
    let plain = bench.path("plain");
    let mut archive = BTreeMap::new();
    let file = std::fs::File::open(bench.path("plain.zip")).unwrap();
    let mut zip = zip::ZipArchive::new(file).unwrap();
    for number in 0..zip.len() {
        let mut inner = zip.by_index(number).unwrap();
        let mut bytes = Vec::new();
        inner.read_to_end(&mut bytes).unwrap();
        tells_nothing(&bytes, &degrees, &inner.name().unwrap());
        archive.insert(inner.name().unwrap().into_owned(), bytes);
    }
    assert_eq!(
        archive.keys().map(String::as_str).collect::<Vec<_>>(),
        listed.lines().collect::<Vec<_>>()
    );
    for path in listed.lines() {
        let own = std::fs::read(clone.join(path)).unwrap();
        let in_folder = std::fs::read(plain.join(path)).unwrap();
        // The day's number of the handover stands in these.
        if !path.starts_with("READ-FIRST") && path != "handed-over.yaml" {
            assert_eq!(own, in_folder, "{path}");
            assert_eq!(own, archive[path], "{path}");
        }
        tells_nothing(&in_folder, &degrees, path);
    }
    assert!(!plain.join(".git").exists());
    let names = text(
        &work,
        &[
            "for-each-ref",
            "--format=%(refname)",
            "refs/matchmark/handed",
        ],
    );
    assert_eq!(names.lines().count(), 6, "{names}");
    assert!(names.contains("2026-03-01-3/whole"), "{names}");
}

#[test]
fn what_can_not_be_handed_over_is_refused_and_leaves_nothing() {
    let mut bench = Bench::new();
    let refuses = |bench: &Bench, line: &str, why: &str| {
        let came = bench.types(line);
        assert!(came.contains(why), "{line}\n{came}");
        assert!(came.contains("to do: "), "{line}\n{came}");
        assert!(came.ends_with("> (exit 2)\n"), "{line}\n{came}");
        let names =
            bench.types("git for-each-ref refs/matchmark/handed; ls -A .. | grep '^.match'");
        assert!(!names.contains("matchmark"), "{line}: {names}");
    };
    types(&bench, "git init -q -b main .");
    bench.writes("build.yaml", BUILD);
    refuses(
        &bench,
        "matchmark handover ../h.bundle",
        "nothing is committed yet",
    );
    let mut number = 0;
    commit(&mut bench, &mut number, "Begun");
    refuses(
        &bench,
        "matchmark handover h.bundle",
        "lies in the build folder",
    );
    refuses(
        &bench,
        "matchmark handover .git/h.bundle",
        "lies in the build folder",
    );
    refuses(
        &bench,
        "matchmark handover ../home/../work/h",
        "lies in the build folder",
    );
    refuses(
        &bench,
        "matchmark handover ../h --history all",
        "only a bundle",
    );
    refuses(
        &bench,
        "matchmark handover ../h --to helpr",
        "does not name `helpr`",
    );
    refuses(
        &bench,
        "touch ../h.bundle; matchmark handover ../h.bundle",
        "is there already",
    );
    refuses(
        &bench,
        "mkdir ../f; touch ../f/x; matchmark handover ../f",
        "is there already",
    );
    refuses(
        &bench,
        "ln -s nowhere ../l.zip; matchmark handover ../l.zip",
        "is there already",
    );
    refuses(
        &bench,
        "matchmark handover ../h.bundle/x.zip",
        "can't be written",
    );
    // A slip in what is private.
    bench.writes(
        "build.yaml",
        &BUILD.replace("private: [", "private: [donors/x, "),
    );
    refuses(&bench, "matchmark handover ../a.zip", "keeps more back");
    bench.writes("build.yaml", &BUILD.replace("private:", "privat:"));
    commit(&mut bench, &mut number, "A slip");
    refuses(
        &bench,
        "matchmark handover ../a.zip",
        "what is private can't be told",
    );
    bench.writes(
        "build.yaml",
        &BUILD.replace("donors/*/price", "donors/[/price"),
    );
    commit(&mut bench, &mut number, "Another");
    refuses(&bench, "matchmark handover ../a.zip", "private");
}

/// A disk that takes no more than a part of the pack.
#[test]
fn a_full_disk_leaves_nothing() {
    let mut bench = Bench::new();
    built(&mut bench);
    let work = bench.path("work");
    let large: Vec<u8> = (0..400_000_u32)
        .flat_map(|one| one.wrapping_mul(2_654_435_761).to_be_bytes())
        .collect();
    writes(&bench, "papers/large.bin", &large);
    let mut number = 40;
    commit(&mut bench, &mut number, "A large paper");
    let before = state(&work);
    for target in ["h.bundle", "h.zip", "h"] {
        // In blocks of 1024 bytes, as a shell counts them.
        let line =
            format!("bash -c 'ulimit -f 600; trap \"\" XFSZ; matchmark handover ../{target}'");
        let came = bench.types(&line);
        assert!(came.contains("> (exit 2)"), "{came}");
        assert!(!bench.path(target).exists());
        assert_eq!(before, state(&work));
        let names =
            bench.types("git for-each-ref refs/matchmark/handed; ls -A .. | grep '^.match'");
        assert!(!names.contains("matchmark"), "{names}");
        git(&work, &["fsck", "--strict"]);
    }
}

#[test]
fn other_repositories_are_handed_over_too() {
    let ways = [
        ("a detached head", "git switch -q --detach"),
        (
            "a shallow clone",
            "cd .. && git clone -q --depth 2 file://$PWD/work s && rm -rf work && mv s work",
        ),
        (
            "a dirty folder",
            "echo '# later' >>parts/all.yaml; echo x: >parts/new.yaml",
        ),
        (
            "sha-256",
            "git fast-export --all >../all && rm -rf .git && git init -q -b main --object-format=sha256 . && git fast-import --quiet <../all && git reset -q --hard",
        ),
        (
            "a repository with other refs",
            "git refs migrate --ref-format=reftable",
        ),
    ];
    for (way, line) in ways {
        let mut bench = Bench::new();
        let degrees = built(&mut bench);
        types(
            &bench,
            "git branch -q -D elsewhere; git tag -d paid; git stash drop -q",
        );
        let came = bench.types(line);
        if came.contains("(exit") {
            assert!(way.contains("other refs"), "{way}: {came}");
            continue;
        }
        let said = types(&bench, "matchmark handover ../h.bundle --history all");
        assert_eq!(
            said.contains("parts/new.yaml"),
            way.contains("dirty"),
            "{said}"
        );
        assert_eq!(said.contains("cut off"), way.contains("shallow"), "{said}");
        types(&bench, "git clone -q ../h.bundle ../h");
        let clone = bench.path("h");
        git(&clone, &["fsck", "--strict"]);
        tells_nothing(&objects(&clone), &degrees, way);
        let count = |folder: &Path| log(folder, "%h").lines().count();
        assert_eq!(count(&bench.path("work")) + 1, count(&clone), "{way}");
        types(&bench, "git fsck --strict");
    }
}

/// Of a repository that holds more than the build, the build alone leaves.
#[test]
fn a_build_in_a_subfolder_leaves_alone() {
    let mut bench = Bench::new();
    let mut number = 0;
    types(&bench, "git init -q -b main .");
    bench.writes("diary.txt", "for nobody\n");
    commit(&mut bench, &mut number, "A diary for nobody");
    bench.writes(
        "car/build.yaml",
        "name: Brindlet\nprivate: [donors/*/price]\n",
    );
    bench.writes(
        "car/donors/all.yaml",
        "pell-van: {maker: Pell, price: 310 EUR}\n",
    );
    commit(&mut bench, &mut number, "The van");
    bench.writes("diary.txt", "for nobody, again\n");
    commit(&mut bench, &mut number, "More for nobody");
    types(&bench, "git mv car lark");
    commit(&mut bench, &mut number, "It has a name");
    bench.writes(
        "lark/donors/all.yaml",
        "pell-van: {maker: Pell, price: 97 EUR, name: Van}\n",
    );
    commit(&mut bench, &mut number, "The van is called so");
    let said = types(
        &bench,
        "matchmark handover h.bundle --history all --folder lark",
    );
    assert!(
        said.contains("of the repository nothing but the folder lark"),
        "{said}"
    );
    types(&bench, "git clone -q h.bundle ../h");
    let clone = bench.path("h");
    tells_nothing(&objects(&clone), &[], "the bundle");
    assert!(!holds(&objects(&clone), b"nobody"));
    let subjects = log(&clone, "%s");
    assert_eq!(
        subjects.lines().skip(1).collect::<Vec<_>>(),
        ["The van is called so", "The van"]
    );
    let donors = std::fs::read_to_string(clone.join("donors/all.yaml")).unwrap();
    assert_eq!(donors, "pell-van: {maker: Pell, name: Van}\n");
}

/// A reference to a record that stays here is an error that only the pack has.
#[test]
fn errors_that_leaving_out_brings_about_are_told() {
    let mut bench = Bench::new();
    let mut number = 0;
    types(&bench, "git init -q -b main .");
    bench.writes("build.yaml", "name: Brindlet\nprivate: [donors/pell-van]\n");
    bench.writes(
        "donors/all.yaml",
        "pell-van: {maker: Pell}\ntarn: {maker: Tarn}\n",
    );
    bench.writes(
        "parts/all.yaml",
        "pump: {name: Pump, pieces: {P1: {donor: pell-van}}}\n",
    );
    commit(&mut bench, &mut number, "The van");
    let came = bench.types("matchmark handover ../h.bundle");
    assert!(
        came.contains("errors that only what is left out brings about"),
        "{came}"
    );
    assert!(came.contains("there is no donor `pell-van`"), "{came}");
    assert!(came.ends_with("> (exit 1)\n"), "{came}");
    assert!(bench.path("h.bundle").exists());
}

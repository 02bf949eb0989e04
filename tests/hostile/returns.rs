//! What comes back from somebody, made to harm.
//!
//! Archives are made by Python's `zipfile` (APPNOTE.TXT tells what each of their fields
//! says), bundles by git, with trees that git itself would not write.

use super::{Duration, Yard, fs, lacks_python, spoofs, wrong};

/// What it is called, how it is made beside the folder (in `packs`, where `given`, `given.zip`
/// and `given.bundle` lie as they were handed over), what has to be said of it, and which
/// files it may change.
struct Return(
    &'static str,
    &'static str,
    &'static str,
    &'static [&'static str],
);

/// For making archives: `pack` writes one of what was handed over and more entries, `edit`
/// changes what stands in it afterwards.
const ZIPS: &str = r##"
import os, struct, warnings, zipfile
warnings.simplefilter("ignore")
def entries(but):
    for at, _, names in os.walk("given"):
        for name in sorted(names):
            path = os.path.join(at, name)
            inner = os.path.relpath(path, "given")
            if inner not in but: yield inner, open(path, "rb").read()
def pack(more, but=()):
    with zipfile.ZipFile("back.zip", "w", zipfile.ZIP_DEFLATED) as z:
        for inner, data in list(entries(but)) + more:
            info = inner if isinstance(inner, zipfile.ZipInfo) else zipfile.ZipInfo(inner)
            info.compress_type = zipfile.ZIP_DEFLATED
            z.writestr(info, data)
def raw(name):
    info = zipfile.ZipInfo("x")
    info.filename = name
    return info
def read(): return open("back.zip", "rb").read()
def write(data): open("back.zip", "wb").write(data)
def edit(was, now):
    assert was in read()
    write(read().replace(was, now))
BOLT = b"bolt: {name: Bolt}\n"
"##;

/// For making bundles: a helper's clone, and what sends it.
const CLONED: &str = "git clone -q given.bundle helper; cd helper; send() { git bundle create -q ../back.bundle HEAD; }; tree() { git update-ref refs/heads/main $(git commit-tree -p HEAD -m x $1); send; }; with() { (git ls-tree HEAD | grep -v parts; printf '040000 tree %s\\tparts\\n' $1) | git mktree; }; packed() { git rev-list --objects \"$@\" HEAD | git pack-objects -q --stdout; }\n";

const RETURNS: &[Return] = &[
    Return(
        "zip: names that lead out",
        r##"pack([("../out/x.yaml", BOLT), ("parts/../../out/x.yaml", BOLT), ("/tmp/x.yaml", BOLT), ("C:/x.yaml", BOLT), ("parts/C:x.yaml", BOLT), (raw("parts\\..\\..\\out\\x.yaml"), BOLT), (raw("..\\x.yaml"), BOLT), (raw("\\\\host\\share\\x.yaml"), BOLT), ("parts//x.yaml", BOLT), ("parts/nul.yaml", BOLT), ("parts/a.yaml:b.yaml", BOLT), ("parts/../parts/y.yaml", BOLT)])"##,
        "leads out of the folder",
        &[],
    ),
    Return(
        "zip: links",
        r##"
def link(name):
    info = zipfile.ZipInfo(name)
    info.create_system = 3
    info.external_attr = 0o120777 << 16
    return info
pack([(link("parts/link.yaml"), b"../../out/secret.yaml"), (link("jobs"), b"../out"), ("jobs/x.yaml", b"x: {kind: bench, does: x}\n")])"##,
        "links are not followed",
        &["jobs/x.yaml"],
    ),
    Return(
        "zip: the same name twice, and but for capitals",
        r##"pack([("parts/twice.yaml", BOLT), ("parts/twice.yaml", BOLT), ("parts/New.yaml", BOLT), ("parts/new.yaml", BOLT)])"##,
        "called so, but for capitals",
        &["parts/twice.yaml"],
    ),
    Return(
        "zip: a name that is there but for capitals",
        r##"pack([("parts/ALL.yaml", BOLT), ("Parts/all.yaml", BOLT), ("BUILD.YAML", b"name: x\n")])"##,
        "called so, but for capitals",
        &[],
    ),
    Return(
        "zip: hidden folders, a repository, hooks",
        r##"pack([(".git/config", b"[core]\nfsmonitor = /bin/false\n"), (".git/hooks/pre-commit", b"#!/bin/sh\n"), (".gitattributes", b"* filter=evil\n"), (".matchmark/x.json", b"{}"), ("parts/.git/HEAD", b"x"), ("git~1/config", b"x"), (".GIT/config", b"x"), ("parts/.x.yaml", BOLT)])"##,
        "means something else to some systems",
        &[],
    ),
    Return(
        "zip: a bomb of 700 MB in records",
        r##"pack([("parts/b%d.yaml" % n, b"#" * (31 << 20)) for n in range(24)])"##,
        "too large",
        &["parts/*"],
    ),
    Return(
        "zip: files of 700 MB that claim five bytes",
        r##"
pack([("parts/huge.yaml", bytes(700 << 20)), ("photos/huge.jpg", b"\xff\xd8" + bytes(700 << 20))])
edit(struct.pack("<I", 700 << 20), struct.pack("<I", 5))
edit(struct.pack("<I", (700 << 20) + 2), struct.pack("<I", 5))"##,
        "it can't be read",
        &[],
    ),
    Return(
        "zip: 9,000 entries at one place",
        r##"
pack([("parts/x0001.yaml", BOLT)])
data = read()
end = data.rindex(b"PK\5\6")
at = struct.unpack("<I", data[end + 16:end + 20])[0]
head = data[at:end]
one = head[head.rindex(b"PK\1\2"):]
many = b"".join(one.replace(b"parts/x0001.yaml", b"parts/y%04d.yaml" % n) for n in range(9000))
count = 9000 + head.count(b"PK\1\2")
write(data[:at] + head + many + b"PK\5\6" + struct.pack("<HHHHIIH", 0, 0, count, count, len(head + many), at, 0))"##,
        "",
        &["parts/*"],
    ),
    Return(
        "zip: a million entries",
        r##"
with zipfile.ZipFile("back.zip", "w") as z: z.writestr("build.yaml", "name: x\n")
data = read()
end = data.rindex(b"PK\5\6")
at = struct.unpack("<I", data[end + 16:end + 20])[0]
one = data[at:end]
many = b"".join(one.replace(b"build.yaml", b"%010d" % n) for n in range(1000000))
far = b"PK\6\6" + struct.pack("<QHHIIQQQQ", 44, 45, 45, 0, 0, 1000000, 1000000, len(many), at)
far += b"PK\6\7" + struct.pack("<IQI", 0, at + len(many), 1)
write(data[:at] + many + far + b"PK\5\6" + struct.pack("<HHHHIIH", 0, 0, 0xffff, 0xffff, 0xffffffff, 0xffffffff, 0))"##,
        "can't be read",
        &[],
    ),
    Return(
        "zip: counts and places that lie",
        r##"
pack([])
data = read()
end = data.rindex(b"PK\5\6")
far = b"PK\6\6" + struct.pack("<QHHIIQQQQ", 44, 45, 45, 0, 0, 1 << 60, 1 << 60, 1 << 62, 1 << 61)
far += b"PK\6\7" + struct.pack("<IQI", 0, end, 1)
write(data[:end] + far + b"PK\5\6" + struct.pack("<HHHHIIH", 0, 0, 0xffff, 0xffff, 0xffffffff, 0xffffffff, 0))"##,
        "can't be read",
        &[],
    ),
    Return(
        "zip: locked with a word, packed in ways unknown",
        r##"
pack([("parts/locked.yaml", BOLT), ("parts/odd.yaml", BOLT)])
data = bytearray(read())
for head, flags, method, size, name in ((b"PK\1\2", 8, 10, 28, 46), (b"PK\3\4", 6, 8, 26, 30)):
    at = data.find(head)
    while at >= 0:
        length = struct.unpack("<H", data[at + size:at + size + 2])[0]
        called = bytes(data[at + name:at + name + length])
        if called == b"parts/locked.yaml": data[at + flags] |= 1
        if called == b"parts/odd.yaml": data[at + method] = 14
        at = data.find(head, at + 4)
write(data)"##,
        "it can't be read",
        &[],
    ),
    Return(
        "zip: cut off, and noise",
        r##"
pack([])
write(read()[:len(read()) // 2] + bytes(n * n * 7919 >> 5 & 255 for n in range(100000)))"##,
        "can't be read",
        &[],
    ),
    Return(
        "zip: ids, fields, comments and names that spoof",
        r##"pack([("parts/evil.yaml", '"\\e[31mid\\u202e": {name: "\\e]52;c;eA==\\a\\r\\b\\u200b\\nforged: x", note: "a\\n\\nSigned-off-by: x <x@example.invalid>\\n# y"}\n# \u202e\nbolt: {name: "Bolt\\n\\nSigned-off-by: x <x@example.invalid>", note: "\\e[2J\\nforged: y\\u202e"}\n'.encode()), (raw("parts/\x1b[31m\u202ex.yaml"), BOLT), (raw("parts/x\nforged: y.yaml"), BOLT), (raw("photos/\x1b[1m.jpg"), b"\xff\xd8")])"##,
        "hide something",
        &["parts/evil.yaml"],
    ),
    Return(
        "zip: a name in many lines that is committed",
        r##"pack([("parts/bolt.yaml", b'bolt: {name: "Bolt\\n\\nSigned-off-by: x <x@example.invalid>\\n# y", note: "x\\nforged: y"}\n')])"##,
        "committed: ",
        &["parts/bolt.yaml"],
    ),
    Return(
        "zip: a folder in place of a file",
        r##"pack([("parts/all.yaml/x.yaml", BOLT), ("parts", b"x"), ("build.yaml/", b"")])"##,
        "",
        &[],
    ),
    Return(
        "zip: pictures that are programs",
        r##"pack([("photos/p-001.jpg", b"#!/bin/sh\n"), ("photos/p-9.jpg", b"MZ"), ("run.sh", b"#!/bin/sh\n"), ("setup.exe", b"MZ"), ("CMakeLists.txt", b"x"), (".envrc", b"x"), ("hooks/pre-commit", b"x")], but=("photos/p-001.jpg",))"##,
        "it is called a picture and is none",
        &[],
    ),
    Return(
        "zip: lists in each other, aliases of aliases",
        r##"
text = "a: &a [x,x,x,x,x,x,x,x,x]\n"
for n in range(1, 25): text += "%s: &%s [%s]\n" % (chr(97 + n), chr(97 + n), ",".join(["*" + chr(96 + n)] * 9))
pack([("parts/a.yaml", text.encode()), ("parts/b.yaml", b"[" * 1000000), ("parts/c.yaml", b"{a: " * 1000000), ("handed-over.yaml", (text + "name: 2026-03-01-1\n").encode())], but=("handed-over.yaml",))"##,
        "",
        &["parts/a.yaml", "parts/b.yaml", "parts/c.yaml"],
    ),
    Return(
        "zip: `handed-over.yaml` names what is not known, and spoofs",
        r##"pack([("handed-over.yaml", b'name: "../../../out/x\\e[31m\\nforged: y\\u202e"\nto: "\\e[1mx"\n')], but=("handed-over.yaml",))"##,
        "name one with `--handed`",
        &[],
    ),
    Return(
        "zip: `handed-over.yaml` names another commit, nobody, a folder",
        r##"pack([("handed-over.yaml", b'name: 2026-03-01-1\ncommit: "--upload-pack=x"\nto: ["x"]\nfolder: ../../out\n')], but=("handed-over.yaml",))"##,
        "is another state",
        &[],
    ),
    Return(
        "zip: `handed-over.yaml` of 31 MB, and no map",
        r##"pack([("handed-over.yaml", b"- x\n" * (31 << 18))], but=("handed-over.yaml",))"##,
        "it does not tell",
        &[],
    ),
    Return(
        "zip: `handed-over.yaml` says in many lines who it is",
        r##"
slip = open("given/handed-over.yaml").read().replace("to: helper\n", "")
to = 'to: "--author=x <y@z>\\n\\nSigned-off-by: z\\e[31m\\u202e"\n'
pack([("handed-over.yaml", (slip + to).encode()), ("parts/bolt.yaml", BOLT)], but=("handed-over.yaml",))"##,
        "committed: ",
        &["parts/bolt.yaml"],
    ),
    Return(
        "a folder: links, pipes, devices, a repository that runs",
        "cp -r given back; cd back; git init -q .; git config core.fsmonitor $RAN; git config filter.evil.clean $RAN; echo '* filter=evil' >.gitattributes; for h in pre-commit post-index-change; do cp $RAN .git/hooks/$h; done; ln -s $OUT/secret.yaml parts/link.yaml; ln -s $OUT/dir donors; ln -s /dev/zero parts/zero.yaml; mkfifo parts/pipe.yaml photos/p-9.jpg; rm photos/p-001.jpg; ln -s $OUT/target photos/p-001.jpg; truncate -s 10G parts/huge.yaml photos/huge.jpg; ln -s .. parts/round",
        "links are not followed",
        &[],
    ),
    Return(
        "a folder: its pack's own files links and pipes",
        "cp -r given back; cd back; rm handed-over.yaml jobs.csv; ln -s $OUT/secret.yaml handed-over.yaml; mkfifo jobs.csv",
        "it does not tell",
        &[],
    ),
    Return(
        "a folder: names that spoof, folders in each other",
        r##"cp -r given back; cd back; d=$(printf 'parts/\033[31m\342\200\256'); mkdir "$d"; echo 'a: {name: x}' >"$d/x.yaml"; echo 'a: {name: x}' >"parts/$(printf 'x\nforged: y\r\007.yaml')"; (cd parts; for n in $(seq 300); do mkdir d && cd d || break; done; echo 'a: {name: x}' >x.yaml)"##,
        "it lies too deep",
        &[],
    ),
    Return(
        "a folder: 60,000 files",
        r##"cp -r given back; cd back; for d in $(seq 60); do mkdir parts/d$d; (cd parts/d$d; seq -f %g.yaml 1000 | xargs touch); done"##,
        "it holds more than 50000 files",
        &[],
    ),
    Return(
        "a bundle: links, submodules, programs in the tree",
        r##"l=$(printf ../../out/secret.yaml | git hash-object -w --stdin); b=$(echo 'bolt: {name: Bolt}' | git hash-object -w --stdin); tree $(with $(printf '120000 blob %s\tall.yaml\n100755 blob %s\trun.yaml\n160000 commit %s\tsub.yaml\n' $l $b $(git rev-parse HEAD) | git mktree --missing))"##,
        "links are not followed",
        &["parts/run.yaml"],
    ),
    Return(
        "a bundle: `.git` and `..` in the tree",
        r##"python3 - <<'END'
import hashlib, os, zlib
def put(kind, body):
    raw = b"%s %d\0" % (kind, len(body)) + body
    name = hashlib.sha1(raw).hexdigest()
    os.makedirs(".git/objects/" + name[:2], exist_ok=True)
    open(".git/objects/%s/%s" % (name[:2], name[2:]), "wb").write(zlib.compress(raw))
    return name
blob = put(b"blob", b"[core]\nfsmonitor = false\n")
inner = put(b"tree", b"100644 config\0" + bytes.fromhex(blob))
top = b"".join(b"40000 " + name + b"\0" + bytes.fromhex(inner) for name in (b"..", b".git", b"parts"))
open(".git/t", "w").write(put(b"tree", top))
END
tree $(cat .git/t)"##,
        "git does not take",
        &[],
    ),
    Return(
        "a bundle: ten billion paths in twelve trees",
        r##"t=$(git rev-parse HEAD:parts); for n in 1 2 3 4 5 6 7 8 9 10; do t=$(for m in 0 1 2 3 4 5 6 7 8 9; do printf '040000 tree %s\t%s\n' $t $m; done | git mktree); done; tree $( (git ls-tree HEAD; printf '040000 tree %s\tbomb\n' $t) | git mktree)"##,
        "it holds more than 50000 files",
        &[],
    ),
    Return(
        "a bundle: a file of 700 MB",
        r##"b=$(head -c 700000000 /dev/zero | git hash-object -w --stdin); tree $(with $(printf '100644 blob %s\tall.yaml\n' $b | git mktree))"##,
        "it is larger than",
        &[],
    ),
    Return(
        "a bundle: four billion objects, a delta of an exabyte",
        r##"python3 - <<'END'
import hashlib, struct, zlib
head = b"1" * 40
def size(kind, n):
    out = bytearray([kind << 4 | n & 15])
    n >>= 4
    while n:
        out[-1] |= 128
        out.append(n & 127)
        n >>= 7
    return bytes(out)
def var(n):
    out = bytearray()
    while n > 127:
        out.append(n & 127 | 128)
        n >>= 7
    return bytes(out + bytes([n]))
blob = size(3, 5) + zlib.compress(b"hello")
delta = var(5) + var(1 << 60) + b"\x90\x05"
far = size(6, len(delta)) + bytes([len(blob)]) + zlib.compress(delta)
pack = b"PACK" + struct.pack(">II", 2, 0xfffffff0) + blob + far
open("../back.bundle", "wb").write(b"# v2 git bundle\n" + head + b" HEAD\n\n" + pack + hashlib.sha1(pack).digest())
END"##,
        "git does not take",
        &[],
    ),
    Return(
        "a bundle: it builds upon what is not here",
        "git commit -q --allow-empty -m a; git commit -q --allow-empty -m b; git bundle create -q ../back.bundle HEAD~1..main; sed -i 's/ refs.heads.main$/ HEAD/' ../back.bundle",
        "git does not take",
        &[],
    ),
    Return(
        "a bundle: heads that are options, patterns or spoof",
        r##"h=$(git rev-parse HEAD); (printf '# v2 git bundle\n%s --upload-pack=x\n%s refs/heads/*:refs/heads/*\n%s refs/heads/\033[31m\342\200\256\n\n' $h $h $h; packed) >../back.bundle"##,
        "git does not take",
        &[],
    ),
    Return(
        "a bundle: one branch with a pattern in its name",
        r##"h=$(git rev-parse HEAD); (printf '# v2 git bundle\n%s refs/heads/*:refs/heads/x\n\n' $h; packed) >../back.bundle"##,
        "git does not take",
        &[],
    ),
    Return(
        "a bundle: promised objects and a filter",
        r##"echo 'nut: {name: Nut}' >>parts/all.yaml; git commit -qam x; h=$(git rev-parse HEAD); (printf '# v3 git bundle\n@object-format=sha1\n@filter=blob:none\n%s HEAD\n\n' $h; packed --filter=blob:none) >../back.bundle"##,
        "git does not take",
        &[],
    ),
    Return(
        "a bundle: names of another length, an ability unknown",
        r##"h=$(git rev-parse HEAD); (printf '# v3 git bundle\n@object-format=sha256\n@evil=1\n%s HEAD\n\n' $h$h; packed) >../back.bundle"##,
        "git does not take",
        &[],
    ),
    Return(
        "a bundle: people and subjects that spoof",
        r##"echo 'nut: {name: Nut}' >>parts/all.yaml; git add -A; c=$(printf 'tree %s\nparent %s\nauthor he\033[31mlper\342\200\256\r --author=x <x\033]0;y\007> 1772400000 +0000\ncommitter x <x> 1772400000 +0000\n\n\033[2J\nSigned-off-by: y\n' $(git write-tree) $(git rev-parse HEAD) | git hash-object -t commit -w --stdin --literally); git update-ref refs/heads/main $c; send"##,
        "committed: ",
        &["parts/all.yaml"],
    ),
    Return(
        "a sheet: formulas, control characters, what is no job",
        r##"(head -1 given/jobs.csv; printf '=cmd|x,,,,,,done,,2026-03-01,,,"=HYPERLINK(""x"")",@x\r\n"\033[31m\nforged: x\342\200\256",,,,,,done,x,+1,-1,,,\r\n../../out/x,,,,,,done,,2026-03-01,,,x,x\r\n') >back.csv"##,
        "job sheet, line 2",
        &[],
    ),
    Return(
        "a sheet: NUL",
        r##"(head -1 given/jobs.csv; printf 'x\0y,,,,,,do\0ne,,2026-03-01,,,\0,\0\r\n') >back.csv"##,
        "job sheet, line",
        &[],
    ),
    Return(
        "a sheet: UTF-16",
        r##"(printf '\377\376'; iconv -t UTF-16LE given/jobs.csv) >back.csv"##,
        "",
        &[],
    ),
    Return(
        "a sheet: one cell of 30 MB, a quote that never ends",
        r##"(head -1 given/jobs.csv; printf '"'; head -c 30000000 /dev/zero | tr '\0' '"'; printf 'x,'; head -c 1000000 /dev/zero | tr '\0' ',') >back.csv"##,
        "",
        &[],
    ),
    Return(
        "a sheet: 34 MB of line ends",
        r##"head -c 34000000 /dev/zero | tr '\0' '\n' >back.csv"##,
        "can't be read",
        &[],
    ),
    Return(
        "a sheet: 30 MB of line ends",
        r##"head -1 given/jobs.csv >back.csv; head -c 30000000 /dev/zero | tr '\0' '\n' >>back.csv"##,
        "",
        &[],
    ),
    Return(
        "a sheet: a million lines of no job",
        r##"head -1 given/jobs.csv >back.csv; yes 'x,,,,,,done' | head -1000000 >>back.csv"##,
        "job sheet, line",
        &[],
    ),
];

/// Lays out what was handed over, and what comes back; where that lies in `packs`.
fn comes_back(yard: &Yard, name: &str, makes: &str) -> &'static str {
    for form in ["given --to helper", "given.zip", "given.bundle"] {
        yard.must(&format!("matchmark handover ../packs/{form} >../said"));
    }
    yard.0.writes("../packs/zips.py", ZIPS);
    let (back, line) = match name {
        name if name.starts_with("zip:") => {
            let makes = format!("from zips import *\n{makes}\n");
            yard.0.writes("../packs/made.py", &makes);
            ("back.zip", "python3 made.py".to_owned())
        }
        name if name.starts_with("a bundle:") => ("back.bundle", format!("{CLONED}{makes}")),
        name if name.starts_with("a sheet:") => ("back.csv", makes.to_owned()),
        _ => ("back", makes.to_owned()),
    };
    let made = yard.types(&format!("cd ../packs\n{line}"));
    assert!(yard.0.path("packs").join(back).exists(), "{name}: {made:?}");
    yard.must("git add -A && git commit -qm Before && git tag before");
    yard.sweeps();
    back
}

/// The files that changed and may not.
fn changed_others(yard: &Yard, may_change: &[&str]) -> Vec<String> {
    let status = "git -c core.quotePath=false status --porcelain -uall --ignored";
    let changed = String::from_utf8_lossy(&yard.types(status).stdout).into_owned();
    let is_meant = |file: &str| {
        may_change.iter().any(|may| match may.strip_suffix('*') {
            Some(folder) => file.starts_with(folder),
            None => file == *may,
        })
    };
    let others = changed.lines().filter(|line| !is_meant(&line[3..]));
    others.map(str::to_owned).collect()
}

/// Whatever comes back is shown, written and committed as it may be: no files change but those
/// that may, and a commit says of itself what it is.
#[test]
fn what_comes_back_does_no_harm() {
    let only = std::env::var("ONLY").unwrap_or_default();
    let mut all_wrong = String::new();
    for Return(name, makes, says, may_change) in RETURNS.iter().filter(|one| one.0.contains(&only))
    {
        let made_by = if name.starts_with("zip:") {
            "python3"
        } else {
            makes
        };
        if lacks_python(made_by) {
            println!("{name}: left out, there is no python3 to make it");
            continue;
        }
        let yard = Yard::new("");
        let back = comes_back(&yard, name, makes);
        let outside = yard.outside();
        let named = match back {
            "back.csv" => " --handed 2026-03-01-1",
            _ => "",
        };
        let (mut most, mut longest) = (0, Duration::ZERO);
        let mut said = String::new();
        let mut ends = [0; 3];
        let mut is_wrong = |why: String| all_wrong.push_str(&format!("{name}: {why}\n"));
        for how in ["", " --write", " --commit"] {
            let words = format!("takeback ../packs/{back}{named}{how}");
            let came = yard.runs(&words);
            if only.len() > 1 {
                let shown = came.out.chars().chain(came.err.chars()).take(3000);
                println!("{words}: {:?} {:?}", came.code, came.took);
                println!("{}", shown.collect::<String>());
            }
            most = most.max(came.held);
            longest = longest.max(came.took);
            if let Some(code @ 0..=2) = came.code {
                ends[code as usize] += 1;
            }
            for wrong in wrong(&words, &yard, &came, &outside) {
                is_wrong(format!("`matchmark {words}`: {wrong}"));
            }
            said.push_str(&came.out);
            said.push_str(&came.err);
            if how == " --write" {
                for line in changed_others(&yard, may_change) {
                    is_wrong(format!("it changed {line}"));
                }
                yard.must("git reset -q --hard && git clean -qfd");
            }
            if came.signal.is_some() {
                break;
            }
        }
        let told = yard
            .types("git log --format='%an <%ae>%n%B' before..")
            .stdout;
        let told = String::from_utf8_lossy(&told).into_owned();
        let lies = |line: &str| {
            line.chars().any(spoofs)
                || line.starts_with("Signed-off-by:")
                || line.starts_with("forged: ")
        };
        if told.lines().any(lies) || told.matches("Handed over as").count() > 1 {
            is_wrong(format!("the commit says {told:?}"));
        }
        let in_a_line = said.split_whitespace().collect::<Vec<_>>().join(" ");
        if !in_a_line.contains(says) {
            let said = said.chars().take(2000).collect::<String>();
            is_wrong(format!("it does not say `{says}`: {said}"));
        }
        if std::env::var_os("TABLE").is_some() {
            println!(
                "{name}: shown, written, committed: {} clean, {} with conflicts, {} could not run; {} MiB, {:.1} s at most",
                ends[0],
                ends[1],
                ends[2],
                most >> 10,
                longest.as_secs_f32()
            );
        }
    }
    assert!(all_wrong.is_empty(), "{all_wrong}");
}

/// Git hands its driver whatever a file is called, and whatever its branches are.
#[test]
fn a_merge_takes_any_name() {
    let names = [
        "a'b\"c$(touch ran).yaml",
        "-o.yaml",
        "--path=x.yaml",
        "`id`;x|y&z.yaml",
        "a b\\\\c.yaml",
        "x\ny.yaml",
        "\u{202e}x\u{1b}[31m.yaml",
        "%A %P.yaml",
    ];
    let branch = r##""$(printf 'x\342\200\256$(touch${IFS}ran)')""##;
    let yard = Yard::new("");
    yard.must("matchmark guard >../said; git config --get merge.matchmark.driver >../said");
    yard.must("git add -A && git -c core.hooksPath=/dev/null commit -qm All");
    yard.must("echo '* merge=matchmark' >.git/info/attributes");
    let commits = |text: &str| {
        for name in names {
            yard.0.writes(&format!("parts/{name}"), text);
            yard.0.writes(name, text);
        }
        yard.must("git add -A && git -c core.hooksPath=/dev/null commit -qm x");
    };
    commits("k: {name: K}\nm: {name: M}\n");
    yard.must(&format!("git branch {branch}"));
    commits("k: {name: K1}\nm: {name: M}\n");
    yard.must(&format!("git switch -q {branch}"));
    commits("k: {name: K2}\nm: {name: N}\n");
    let came = yard.types("git -c core.hooksPath=/dev/null merge main");
    assert_eq!(came.status.code(), Some(1), "{came:?}");
    let said = String::from_utf8_lossy(&came.stderr).into_owned();
    let odd: Vec<&str> = said
        .lines()
        .filter(|line| line.chars().any(spoofs))
        .collect();
    assert!(odd.is_empty(), "{odd:?}");
    let read = |path: &str| fs::read_to_string(yard.0.path("work").join(path)).unwrap();
    let marked = |text: &str| {
        let all = ["<<<<<<< ", "K1", "K2", ">>>>>>> "];
        let marks = text
            .lines()
            .filter(|line| line.starts_with(['<', '>', '|']));
        all.iter().all(|one| text.contains(one)) && !marks.flat_map(str::chars).any(spoofs)
    };
    for name in names {
        let merged = read(&format!("parts/{name}"));
        assert!(marked(&merged), "{name}: {merged}");
        assert!(merged.ends_with("m: {name: N}\n"), "{name}: {merged}");
        let other = read(name);
        let lines = other.lines().filter(|line| !line.starts_with(['<', '>']));
        let lines = lines.collect::<Vec<_>>().join("\n");
        assert!(lines.contains("K1") && lines.contains("K2"), "{other}");
    }
    assert!(!yard.0.path("work/ran").exists() && !yard.0.path("work/parts/ran").exists());
    let outside = yard.outside();
    let came = yard.runs("merge");
    assert_eq!(wrong("merge", &yard, &came, &outside), [""; 0]);
    assert_eq!(came.code, Some(1), "{}{}", came.out, came.err);
}

/// A version that is larger than is read, or never ends, stops git: it then leaves no side
/// alone without marks.
#[test]
fn a_merge_reads_no_more_than_it_may() {
    let yard = Yard::new("");
    yard.must("cd ../packs; truncate -s 2G base ours; mkfifo theirs; echo 'k: {name: K}' >small");
    let outside = yard.outside();
    for (base, ours, theirs) in [("base", "ours", "small"), ("small", "small", "theirs")] {
        let words = format!(
            "merge --base ../packs/{base} --ours ../packs/{ours} --theirs ../packs/{theirs} --path parts/all.yaml"
        );
        let came = yard.runs(&words);
        assert_eq!(wrong(&words, &yard, &came, &outside), [""; 0]);
        assert_eq!(came.code, Some(2), "{}{}", came.out, came.err);
    }
}

/// Pictures are handed over however many there are.
#[test]
fn many_large_pictures_are_handed_over() {
    let yard = Yard::new("");
    yard.must("for n in $(seq 9); do { printf '\\377\\330\\377\\331'; head -c 8000000 /dev/urandom; } >photos/q-$n.jpg; echo \"q-$n: {file: q-$n.jpg, shows: [cooling/pump]}\" >>photos/all.yaml; done; git add -A; git commit -qm x");
    let outside = yard.outside();
    let words = "handover ../packs/given.zip";
    let came = yard.runs(words);
    assert_eq!(wrong(words, &yard, &came, &outside), [""; 0]);
    assert_eq!(came.code, Some(0), "{}{}", came.out, came.err);
}

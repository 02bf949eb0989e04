//! A build folder that came from somebody else, and every command on it.
//!
//! Each attack is laid into a folder of its own by a shell and real git, and every command is
//! run there. Then nothing may have run that the folder names, nothing outside may have
//! changed or be told of, nothing may reach a terminal but what is plainly seen, and neither
//! time nor memory may go without end. Where git itself would fall for it, the line that
//! makes it fall is typed first, so that an attack which has no teeth is no test.
//!
//! What git runs by its settings and attributes is told by `git help config` and `git help
//! attributes`; what it takes for a repository, by `git help rev-parse` and `gitrepository-layout`.
//! Bidirectional characters are those of Unicode's UAX #9 (CVE-2021-42574 is the attack).
//!
//! `TABLE=1 cargo test --test hostile -- --nocapture` prints what came of each.
//! `ONLY=WORDS` runs the attacks that are called so, `TYPED=handover,merge` the commands that
//! begin so.

#![cfg(target_os = "linux")]
#![allow(clippy::disallowed_methods, clippy::disallowed_macros)]

mod bench;
#[path = "hostile/returns.rs"]
mod returns;

use std::fs::{self, File};
use std::io::Read;
use std::os::unix::fs::FileTypeExt;
use std::os::unix::process::ExitStatusExt;
use std::path::Path;
use std::process::Stdio;
use std::time::{Duration, Instant};

use bench::Bench;

/// What lies outside the folder and must not be told.
const SECRET: &str = "THE-COMBINATION";

/// What a command may hold at most, in KiB: less than any of the floods below comes to.
const MEMORY: u64 = 600 << 10;
/// How long it may take here, unoptimised and beside others.
const PATIENCE: Duration = Duration::from_secs(400);

/// Every command, as it is typed in the folder. `{head}` is the last commit.
const COMMANDS: &[&str] = &[
    "check",
    "check --format json",
    "check --format sarif",
    "check --staged",
    "check --staged --brief --commit-by 1",
    "check --at HEAD",
    "check --history=all",
    "check --pushed",
    "changes",
    "changes HEAD~1 HEAD --fields",
    "changes 2026-03-01 staged --format json",
    "changes --format html",
    "changes --sessions",
    "trail parts/pump",
    "trail build --fields --format json",
    "sheet torque",
    "sheet torque cooling --format html",
    "sheet send-out away",
    "sheet orders --format markdown",
    "list pieces",
    "list places --format csv",
    "list photos --format json",
    "allot",
    "allot cooling --format json",
    "allot --write",
    "identify --length 30mm --across-flats 13mm",
    "identify --class 8.8 --format json",
    "identify --bucket ../packs/bucket.csv",
    "explain off-schema",
    "reckon wrench '24 N·m' --lever 380mm --extension 55mm",
    "reckon vin 1M8GDM9AXKP042788 --format json",
    "lines parts parts/all.yaml",
    "draft message",
    "guard",
    "check",
    "handover ../packs/given --to helper",
    "handover ../packs/given.zip",
    "handover ../packs/given.bundle",
    "handover ../packs/all.bundle --history all",
    "takeback ../packs/given",
    "takeback ../packs/given --write",
    "takeback ../packs/given.zip --write",
    "takeback ../packs/back.bundle --write",
    "takeback ../packs/jobs.csv --handed 2026-03-01-1",
    "merge --base ../packs/base --ours ../packs/ours --theirs ../packs/theirs --path parts/from.yaml",
    "merge",
    "guard --remove",
    "start .",
];

/// What is done before a command, beside the folder, that it has something to do: a helper
/// edits what was handed over, and git stops at a record that one side moved and the other
/// changed. Git has no say here but for what it is made to write.
const BEFORE: &[(&str, &str)] = &[
    (
        "takeback ../packs/given",
        "echo 'bolt: {name: Bolt}' >>../packs/given/parts/all.yaml",
    ),
    (
        "takeback ../packs/back.bundle --write",
        "cd ../packs && git clone -q given.bundle helper && cd helper && echo 'nut: {name: Nut}' >>parts/all.yaml && git commit -qam 'A nut' && git bundle create -q ../back.bundle HEAD",
    ),
    (
        "identify --bucket ../packs/bucket.csv",
        "printf 'length mm\n30\n' >../packs/bucket.csv",
    ),
    (
        "takeback ../packs/jobs.csv --handed 2026-03-01-1",
        "cp ../packs/given/jobs.csv ../packs/",
    ),
    (
        "merge --base ../packs/base --ours ../packs/ours --theirs ../packs/theirs --path parts/from.yaml",
        "cd ../packs; printf 'k: {name: K}\nm: {name: M}\n' >base; echo 'k: {name: K}' >ours; printf 'k: {name: K}\nm: {name: Nut}\n' >theirs; echo 'm: {name: M}' >to; cp ours mine",
    ),
    (
        "merge",
        "name() { git hash-object -w --no-filters ../packs/$1; }; printf '100644 %s 1\tparts/from.yaml\n100644 %s 2\tparts/from.yaml\n100644 %s 3\tparts/from.yaml\n100644 %s 0\tparts/to.yaml\n' $(name base) $(name mine) $(name theirs) $(name to) | git update-index --index-info; timeout 5 cp ../packs/ours parts/from.yaml; timeout 5 cp ../packs/to parts/to.yaml",
    ),
];

/// The folder before anybody tampered with it: two commits, and an edit since.
const LAID: &str = r#"
git init -q -b main $FORMAT . && git config user.name builder && git config user.email builder@example.invalid
mkdir parts assemblies fasteners photos jobs
echo 'name: Brindlet' >build.yaml
echo 'pump: {name: Coolant pump, number: "CP-1", pieces: {P1: {condition: serviceable, goes: cooling/pump}}}' >parts/all.yaml
echo 'cooling: {in: car, places: {pump: {takes: ["CP-1"]}}, joints: {pump: {clamps: [cooling/pump], steps: [9 N·m], holes: {low: {calls-for: bolt-m8}}}}}' >assemblies/all.yaml
echo 'away: {kind: send-out, does: zinc, process: zinc, lines: [{what: parts/pump/P1, count: 1}]}' >jobs/away.yaml
echo 'bolt-m8: {form: bolt, thread: M8, length: 30 mm, class: "8.8", have: 4}' >fasteners/all.yaml
echo 'p-001: {file: p-001.jpg, shows: [cooling/pump]}' >photos/all.yaml
printf '\377\330\377\331' >photos/p-001.jpg
git add -A && git commit -qm 'What came out of the van'
echo 'seal: {name: Seal}' >>parts/all.yaml && git commit -qam 'A seal'
echo 'hose: {name: Hose}' >>parts/all.yaml && printf '\377\330\377\331 ' >photos/p-001.jpg && echo >message
"#;

/// What lies beside it, and is none of its business.
const OUTSIDE: &str = r#"
mkdir ../out ../ran ../packs ../out/dir && cd ../out
echo 'secret: {name: THE-COMBINATION}' >secret.yaml
echo 'THE-COMBINATION' >target
cp target dir/all.yaml && cp secret.yaml dir/donors.yaml
git init -q -b main other && cd other && echo 'name: THE-COMBINATION' >build.yaml && git add -A && git commit -qm 'THE-COMBINATION'
git config core.excludesFile /dev/null
"#;

/// An attack: what it is called, how the folder is tampered with, and what to type for git
/// itself to fall for it, if it does. `$RAN` is a program that leaves a trace, `$OUT` what lies
/// outside.
struct Attack(&'static str, &'static str, &'static str);

/// By which git, or whatever reads the folder, would run something.
const RUNS: &[Attack] = &[
    Attack(
        "hooks of every name",
        r#"mkdir -p .git/hooks; for h in applypatch-msg pre-applypatch post-applypatch pre-commit pre-merge-commit prepare-commit-msg commit-msg post-commit pre-rebase post-checkout post-merge pre-push pre-receive update proc-receive post-receive post-update reference-transaction push-to-checkout pre-auto-gc post-rewrite sendemail-validate fsmonitor-watchman post-index-change; do cp $RAN .git/hooks/$h; done"#,
        "git commit -q --allow-empty -m x",
    ),
    Attack(
        "core.hooksPath into the folder",
        r#"mkdir tools; for h in pre-commit reference-transaction post-index-change; do cp $RAN tools/$h; done; git config core.hooksPath tools"#,
        "git update-ref refs/heads/x HEAD",
    ),
    Attack(
        "core.fsmonitor",
        "git config core.fsmonitor $RAN; git update-index --fsmonitor",
        "git status",
    ),
    Attack(
        "pager, editor, askpass, browser, sequence editor",
        "for k in core.pager pager.log pager.show pager.status pager.config core.editor core.askPass sequence.editor web.browser diff.tool merge.tool; do git config $k $RAN; done",
        "env -u GIT_EDITOR git commit -q --allow-empty",
    ),
    Attack("diff.external", "git config diff.external $RAN", "git diff"),
    Attack(
        "textconv and a diff command by attributes",
        "echo '*.yaml diff=evil' >.gitattributes; git config diff.evil.textconv $RAN; git config diff.evil.command $RAN",
        "git diff",
    ),
    Attack(
        "clean and smudge filters, required",
        "git config filter.evil.clean $RAN; git config filter.evil.smudge $RAN; git config filter.evil.required true; echo '* filter=evil' >.gitattributes",
        "git hash-object parts/all.yaml",
    ),
    Attack(
        "a process filter, in info/attributes",
        "git config filter.evil.process $RAN; mkdir -p .git/info; echo '* filter=evil' >.git/info/attributes",
        "git hash-object parts/all.yaml",
    ),
    Attack(
        "a filter with an odd name",
        "printf '[filter \"a=b.c\"]\\nclean = %s\\n' $RAN >>.git/config; echo '* filter=a=b.c' >.gitattributes",
        "git hash-object parts/all.yaml",
    ),
    Attack(
        "macros of attributes",
        "git config filter.evil.clean $RAN; git config diff.evil.textconv $RAN; git config merge.evil.driver $RAN; printf '[attr]evil filter=evil diff=evil merge=evil\\n* evil\\n' >.gitattributes",
        "git hash-object parts/all.yaml",
    ),
    Attack(
        "a merge driver",
        "git config merge.evil.driver $RAN; echo '* merge=evil' >.git/info/attributes; git stash -q; git branch side HEAD; echo '# a' >>parts/all.yaml; git commit -qam a; git switch -q side; echo '# b' >>parts/all.yaml; git commit -qam b; git switch -q main",
        "git merge -q side",
    ),
    Attack(
        "include.path and includeIf into the folder",
        "printf '[core]\\nfsmonitor = %s\\n[filter \"evil\"]\\nclean = %s\\n' $RAN $RAN >.config; git config include.path ../.config; git config includeIf.onbranch:main.path ../.config; echo '* filter=evil' >.gitattributes",
        "git hash-object parts/all.yaml",
    ),
    Attack(
        "extensions.worktreeConfig",
        "git config extensions.worktreeConfig true; printf '[core]\\nfsmonitor = %s\\n[filter \"evil\"]\\nclean = %s\\n' $RAN $RAN >.git/config.worktree; echo '* filter=evil' >.gitattributes",
        "git hash-object parts/all.yaml",
    ),
    Attack(
        "gpg.program, and signatures shown",
        "git config gpg.program $RAN; git config log.showSignature true; git config commit.gpgSign false; c=$(git cat-file commit HEAD | sed 's/^committer.*/&\\ngpgsig -----BEGIN PGP SIGNATURE-----\\n \\n x\\n -----END PGP SIGNATURE-----/' | git hash-object -t commit -w --stdin --literally); git update-ref refs/heads/main $c",
        "git log -1",
    ),
    Attack(
        "aliases",
        "for a in status config rev-parse log show check guard ls-tree cat-file hash-object; do git config alias.$a \"!$RAN\"; done; git config alias.st \"!$RAN\"",
        "git st",
    ),
    Attack(
        "credential helpers",
        "git config credential.helper \"!$RAN\"; git config credential.https://example.invalid.helper \"!$RAN\"",
        "printf 'protocol=https\\nhost=example.invalid\\n\\n' | git credential fill",
    ),
    Attack(
        "a promised object, from an ext:: remote",
        "git config extensions.partialClone evil; git config remote.evil.promisor true; git config remote.evil.url \"ext::$RAN\"; git config protocol.ext.allow always; rm -f .git/objects/$(git rev-parse HEAD~1:parts/all.yaml | sed 's|..|&/|')",
        "git cat-file -p HEAD~1:parts/all.yaml",
    ),
    Attack(
        "a promised object, by an upload-pack of theirs",
        "git config extensions.partialClone evil; git config remote.evil.promisor true; git config remote.evil.url $OUT/other; git config remote.evil.uploadpack $RAN; rm -f .git/objects/$(git rev-parse HEAD~1:parts/all.yaml | sed 's|..|&/|')",
        "git cat-file -p HEAD~1:parts/all.yaml",
    ),
    Attack(
        "a promised object, by core.sshCommand",
        "git config extensions.partialClone evil; git config remote.evil.promisor true; git config remote.evil.url ssh://example.invalid/x; git config core.sshCommand $RAN; rm -f .git/objects/$(git rev-parse HEAD~1:parts/all.yaml | sed 's|..|&/|')",
        "git cat-file -p HEAD~1:parts/all.yaml",
    ),
    Attack(
        "a submodule with settings and an update command of its own",
        "git init -q -b main sub; git -C sub commit -q --allow-empty -m x; printf '[submodule \"sub\"]\\npath = sub\\nurl = ./sub\\nupdate = !%s\\n' $RAN >.gitmodules; git add sub .gitmodules 2>/dev/null; git commit -qm sub; git config submodule.sub.update \"!$RAN\"; git config submodule.sub.active true; git -C sub config core.fsmonitor $RAN; git -C sub update-index --fsmonitor; echo x >sub/x",
        "git status",
    ),
];

/// By which something outside would be read or written.
const REACHES: &[Attack] = &[
    Attack(
        "build.yaml a link",
        "rm build.yaml; ln -s $OUT/secret.yaml build.yaml; git add -A; git commit -qm x",
        "",
    ),
    Attack(
        "kind folders links",
        "rm -r parts jobs; ln -s $OUT/dir parts; ln -s ../../out/dir jobs; ln -s $OUT/secret.yaml assemblies/x.yaml; ln -s / donors; git add -A; git commit -qm x",
        "",
    ),
    Attack(
        "pictures links",
        "rm photos/p-001.jpg; ln -s $OUT/secret.yaml photos/p-001.jpg; ln -s $OUT photos/more; echo 'p-2: {file: more/target, shows: [cooling/pump], sha256: 0000000000000000000000000000000000000000000000000000000000000000}' >>photos/all.yaml; git add -A; git commit -qm x",
        "",
    ),
    Attack(
        "names that lead out",
        "printf 'p-2: {file: ../../out/target, shows: [cooling/pump]}\\np-3: {file: %s/target}\\np-4: {file: ../../../../etc/passwd}\\np-5: {file: ..//.././photos/../../out/secret.yaml}\\np-6: {file: D:\\\\x.jpg}\\np-7: {file: ~/x.jpg}\\n' $OUT >>photos/all.yaml; echo \"x: {kind: bench, does: ../../out/target, needs: [../../out/secret, $OUT/target], note: $OUT/target}\" >jobs/all.yaml; git add -A; git commit -qm x",
        "",
    ),
    Attack(
        "what is kept beside git's files, links",
        "for f in passed readings pictures; do ln -s $OUT/target .git/matchmark-$f; done; ln -s $OUT/target .git/MERGE_HEAD; ln -s $OUT/target .git/shallow.lock",
        "",
    ),
    Attack(
        "what is kept beside git's files, without end",
        "for f in passed readings pictures; do ln -s /dev/zero .git/matchmark-$f; done",
        "",
    ),
    Attack(
        "what is kept beside git's files, pipes",
        "for f in passed readings pictures; do mkfifo .git/matchmark-$f; done",
        "",
    ),
    Attack(
        "our ref a link",
        "git config core.logAllRefUpdates always; mkdir -p .git/refs/matchmark .git/logs/refs/matchmark; ln -s $OUT/target .git/refs/matchmark/checked; ln -s $OUT/target .git/logs/refs/matchmark/checked; touch .git/matchmark-passed",
        "",
    ),
    Attack(
        "our refs' folder a link",
        "ln -s $OUT/dir .git/refs/matchmark; ln -s $OUT/dir .git/logs/refs/matchmark; touch .git/matchmark-passed",
        "",
    ),
    Attack(
        "hooks a link",
        "rm -rf .git/hooks; ln -s $OUT/dir .git/hooks",
        "",
    ),
    Attack(
        "core.hooksPath outside",
        "git config core.hooksPath $OUT/dir",
        "",
    ),
    Attack(
        "info a link",
        "rm -rf .git/info; ln -s $OUT/dir .git/info",
        "",
    ),
    Attack(
        "info/attributes and the settings links",
        "mkdir -p .git/info; ln -sf $OUT/target .git/info/attributes; cp .git/config $OUT/config; ln -sf $OUT/config .git/config",
        "git config x.y z && git config --unset x.y && touch $(dirname $RAN)/../ran/written",
    ),
    Attack(
        ".git a file that leads to somebody's repository",
        "rm -rf .git; echo gitdir: $OUT/other/.git >.git",
        "",
    ),
    Attack(
        ".git a link to somebody's repository",
        "rm -rf .git; ln -s $OUT/other/.git .git",
        "",
    ),
    Attack("core.worktree outside", "git config core.worktree $OUT", ""),
    Attack(
        "a bare repository laid out among the records",
        "cp -r .git x && rm -rf .git && mv x/* . && rm -r x; printf '[core]\\nrepositoryformatversion = 0\\nbare = false\\nworktree = .\\nfsmonitor = %s\\n' $RAN >config",
        "git status",
    ),
    Attack(
        "objects of somebody else's",
        "mkdir -p .git/objects/info; echo $OUT/other/.git/objects >.git/objects/info/alternates",
        "",
    ),
    Attack(
        "what start lays out, links",
        "ln -s $OUT/dir .matchmark; ln -sf $OUT/target .gitattributes; ln -s $OUT/target .gitignore; rm -r jobs; ln -s $OUT/dir jobs",
        "",
    ),
    Attack("the message a link", "ln -sf $OUT/target message", ""),
    Attack(
        "replaced objects and grafts",
        "git update-ref refs/replace/$(git rev-parse HEAD) $(git rev-parse HEAD~1); mkdir -p .git/info; git rev-parse HEAD >.git/info/grafts",
        "",
    ),
    Attack(
        "pipes, devices and sockets in place of files",
        "rm photos/p-001.jpg; mkfifo parts/pipe.yaml photos/p-001.jpg jobs/all.yaml; ln -s /dev/zero parts/zero.yaml; ln -s /dev/zero photos/p-002.jpg; python3 -c 'import socket; socket.socket(socket.AF_UNIX).bind(\"parts/socket.yaml\")'; test -S parts/socket.yaml",
        "",
    ),
    Attack("build.yaml a pipe", "rm build.yaml; mkfifo build.yaml", ""),
];

/// By which a terminal would show what is not so.
const SPOOFS: &[Attack] = &[
    Attack(
        "control characters in records",
        r#"printf '"\\e[31mid\\u202e": {name: "\\e]52;c;eA==\\a\\r\\b\\u200b", nmae: "\\e]8;;http://x\\e\\\\", pieces: {"P\\u20661": {condition: "\\e[2J", goes: "a\\nforged: b", donor: "\\u061c\\u2069x"}}, number: "\\u009b31m"}\n' >parts/evil.yaml; printf 'p-2: {file: "\\e[1m\\nforged: x.jpg"}\n' >>photos/all.yaml; git add -A; git commit -qm x"#,
        "",
    ),
    Attack(
        "control characters as they are in files",
        r#"printf 'a\033[31m: {name: \033]0;x\007, note: "\342\200\256"}\n' >parts/evil.yaml; printf 'x: {does: "\rforged: y"\n  \010}\n' >jobs/all.yaml; git add -A; git commit -qm x"#,
        "",
    ),
    Attack(
        "names of files and folders",
        r#"d=$(printf 'parts/\033[31m\342\200\256'); mkdir "$d"; f=$(printf 'x\nforged: y\r\007.yaml'); echo 'a: {nmae: x}' >"$d/$f"; echo 'a: {nmae: x}' >"parts/$f"; printf x >"photos/$(printf '\nforged: \033[1m.jpg')"; git add -A; git commit -qm x; echo '# more' >>"parts/$f""#,
        "",
    ),
    Attack(
        "commits: subjects, people, branches, tags",
        r#"git -c user.name="$(printf 'helper\033[31m\342\200\256')" -c user.email="$(printf 'x\033]0;y\007')" commit -q --allow-empty --cleanup=verbatim -m "$(printf 'Sub\033[2J\rject\342\200\256\342\200\213\010')"; GIT_AUTHOR_NAME="$(printf 'a\033[1mb\342\200\256')" git commit -q --allow-empty -m "$(printf '\033]52;c;eA==\007')"; git branch "$(printf 'x\342\200\256y')"; git tag "$(printf 'HEAD\342\201\2461')"; sed -i 's/pump/pmup/' parts/all.yaml; git commit -qam "$(printf 'A \033[31mred one')"; git config user.name "$(printf 'x\033[31m')""#,
        "",
    ),
    Attack(
        "settings that are shown",
        r#"git config core.hooksPath "$(printf 'a\033[31m\342\200\256b')"; git config diff.matchmark-parts.textconv "$(printf '\033[31m')"; echo "* diff=$(printf 'x\342\200\256y')" >.gitattributes; printf '/parts/** diff=\033[31m\n' >>.gitattributes"#,
        "",
    ),
];

/// By which memory or time would go without end.
const SWELLS: &[Attack] = &[
    Attack(
        "sparse files of 10 GB",
        "mkdir -p .git/info; printf 'huge*\\n' >.git/info/exclude; truncate -s 10G parts/huge.yaml photos/huge.jpg jobs/huge-2.yaml .git/matchmark-readings .git/matchmark-passed .git/MERGE_HEAD",
        "",
    ),
    Attack(
        "thirty files of 25 MiB",
        "for n in $(seq 30); do truncate -s 25M parts/n$n.yaml; done",
        "",
    ),
    Attack(
        "forty names for 31 MiB in a commit",
        r#"b=$(head -c 32500000 /dev/zero | tr '\0' '#' | git hash-object -w --stdin); t=$(for n in $(seq 40); do printf '100644 blob %s\tn%s.yaml\n' $b $n; done | git mktree); c=$( (git ls-tree HEAD | grep -v parts; printf '040000 tree %s\tparts\n' $t) | git mktree); git update-ref refs/heads/main $(git commit-tree -p HEAD -m x $c); git reset -q --mixed"#,
        "",
    ),
    Attack(
        "a blob that unpacks to 700 MB",
        r#"b=$(head -c 700000000 /dev/zero | git hash-object -w --stdin); t=$(printf '100644 blob %s\tall.yaml\n' $b | git mktree); p=$(printf '100644 blob %s\tp-001.jpg\n' $b | git mktree); c=$( (git ls-tree HEAD | grep -v 'parts\|photos'; printf '040000 tree %s\tparts\n' $t;  printf '040000 tree %s\tphotos\n' $p) | git mktree); git update-ref refs/heads/main $(git commit-tree -p HEAD -m x $c); git reset -q --mixed"#,
        "",
    ),
    Attack(
        "ten billion paths in twelve trees",
        r#"t=$(git rev-parse HEAD:parts); for n in 1 2 3 4 5 6 7 8 9 10; do t=$(for m in 0 1 2 3 4 5 6 7 8 9; do printf '040000 tree %s\t%s\n' $t $m; done | git mktree); done; c=$( (git ls-tree HEAD; printf '040000 tree %s\tbomb\n' $t) | git mktree); git update-ref refs/heads/main $(git commit-tree -p HEAD -m x $c)"#,
        "",
    ),
    Attack(
        "20,000 folders in each other, in a commit",
        r#"t=$(git rev-parse HEAD:parts); python3 - $t <<'E'
import hashlib,zlib,sys,os
t=sys.argv[1]
for n in range(20000):
    body=b'40000 a\0'+bytes.fromhex(t)
    raw=b'tree %d\0'%len(body)+body
    t=hashlib.sha1(raw).hexdigest()
    os.makedirs('.git/objects/'+t[:2],exist_ok=True)
    open('.git/objects/'+t[:2]+'/'+t[2:],'wb').write(zlib.compress(raw,1))
open('.git/deep','w').write(t)
E
c=$( (git ls-tree HEAD; printf '040000 tree %s\tdeep\n' $(cat .git/deep)) | git mktree); git update-ref refs/heads/main $(git commit-tree -p HEAD -m x $c)"#,
        "",
    ),
    Attack(
        "lists and maps in each other",
        r#"python3 -c '
n=1000000
open("parts/a.yaml","w").write("["*n)
open("parts/b.yaml","w").write("{a: "*n)
open("parts/c.yaml","w").write("\n".join(" "*i+"a:" for i in range(5000)))
open("parts/d.yaml","w").write("- "*n)
open("parts/e.yaml","w").write("x: {name: "+"["*200+"]"*200+"}")
'; git add -A; git commit -qm x"#,
        "",
    ),
    Attack(
        "aliases of aliases",
        r#"python3 -c '
s="a: &a [x,x,x,x,x,x,x,x,x]\n"
for n in range(1,25): s+="%s: &%s [%s]\n"%(chr(97+n),chr(97+n),",".join(["*"+chr(96+n)]*9))
open("parts/a.yaml","w").write(s)
'; git add -A; git commit -qm x"#,
        "",
    ),
    Attack(
        "one line of 3 MB, and 4,000 slips",
        r#"python3 -c '
open("parts/a.yaml","w").write("x: {name: \""+"y"*3000000+"\"}\n")
open("jobs/b.yaml","w").write("".join("x%d: {nmae: y, needs: [parts/nothing-%d]}\n"%(n,n) for n in range(2000)))
'; git add -A; git commit -qm x"#,
        "",
    ),
    Attack(
        "20,000 files",
        r#"python3 -c '
import os
for d in range(20):
    os.makedirs("parts/d%d"%d)
    for n in range(1000): open("parts/d%d/%d.yaml"%(d,n),"w").write("")
'; git add -A; git commit -qm x"#,
        "",
    ),
    Attack(
        "50,000 refs and 5,000 commits",
        r#"python3 -c '
import sys
for n in range(5000):
    print("commit refs/heads/main\ncommitter b <b@example.invalid> %d +0000\ndata 1\nx"%(1772400000+n*60))
    if n==0: print("from refs/heads/main^0")
    print("M 644 inline jobs/n.yaml\ndata <<E\nn: {does: \"%d\"}\nE\n"%n)
' | git fast-import --quiet --force; h=$(git rev-parse HEAD); (echo '# pack-refs with: peeled fully-peeled sorted '; seq 100000 150000 | sed "s|.*|$h refs/heads/b&|"; echo "$h refs/heads/main") >.git/packed-refs; rm -f .git/refs/heads/main; git reset -q --mixed"#,
        "",
    ),
    Attack(
        "pictures that claim what they don't hold",
        r#"python3 -c '
import struct,zlib
def chunk(k,b,n=None): return struct.pack(">I",len(b) if n is None else n)+k+b+struct.pack(">I",zlib.crc32(k+b))
head=b"\x89PNG\r\n\x1a\n"
ihdr=chunk(b"IHDR",struct.pack(">IIBBBBB",0x7fffffff,0x7fffffff,16,6,0,0,0))
bomb=zlib.compress(bytes(200000000),9)
open("photos/a.png","wb").write(head+ihdr+chunk(b"zTXt",b"XML:com.adobe.xmp\0\0"+bomb)+chunk(b"iTXt",b"XML:com.adobe.xmp\0\1\0\0\0"+bomb)+chunk(b"iCCP",b"x\0\0"+bomb)+chunk(b"eXIf",b"MM\0*\0\0\0\x08\xff\xff",0x7ffffff0))
tiff=b"MM\0*\0\0\0\x08\xff\xff"+(b"\x88\x25\0\x04\xff\xff\xff\xff\0\0\0\x08")*4000
open("photos/b.jpg","wb").write(b"\xff\xd8\xff\xe1\xff\xffExif\0\0"+tiff)
open("photos/c.tif","wb").write(tiff)
open("photos/d.heic","wb").write(b"\0\0\0\x18ftypheic\0\0\0\0heicmif1"+b"\xff\xff\xff\xf0meta\0\0\0\0"+b"\0\0\0\x01iinf\xff\xff\xff\xff\xff\xff\xff\xf0"*50)
open("photos/e.webp","wb").write(b"RIFF\xff\xff\xff\xffWEBPVP8X\xff\xff\xff\xff"+b"EXIF\xff\xff\xff\xf0MM\0*")
open("photos/f.gif","wb").write(b"GIF89a\xff\xff\xff\xff\xf7\0\0"+b"!\xff\x0bXMP DataXMP"*10000)
open("photos/g.jpg","wb").write(b"PK\x03\x04"+bomb)
names="abcdefg"
import os
for f in sorted(os.listdir("photos")):
    if f[1:2]==".": open("photos/all.yaml","a").write("q-%s: {file: %s, shows: [cooling/pump]}\n"%(f[0],f))
'; git add -A; git commit -qm x"#,
        "",
    ),
];

/// What came of a command.
struct Came {
    code: Option<i32>,
    signal: Option<i32>,
    out: String,
    err: String,
    /// The most that it held, in KiB.
    held: u64,
    took: Duration,
}

/// A yard: the folder, what lies outside it, and what leaves a trace when it is run.
struct Yard(Bench);

impl Yard {
    fn new(format: &str) -> Self {
        let bench = Bench::new();
        let yard = Self(bench);
        yard.must(OUTSIDE);
        yard.must(&format!("FORMAT={format}\n{LAID}"));
        let trace = yard.0.path("ran/trace");
        let leaves = format!("#!/bin/sh\necho \"$0 $*\" >>{}\nexit 1\n", trace.display());
        yard.0.writes("../bin/ran", &leaves);
        yard.must("chmod +x ../bin/ran");
        yard
    }

    fn line(&self, line: &str) -> String {
        format!(
            "RAN={} OUT={}\n{line}",
            self.0.path("bin/ran").display(),
            self.0.path("out").display()
        )
    }

    fn types(&self, line: &str) -> std::process::Output {
        let line = self.line(line);
        self.0.shell().arg("-c").arg(line).output().unwrap()
    }

    fn must(&self, line: &str) {
        let came = self.types(&format!("set -e\n{line}"));
        assert!(came.status.success(), "{line}\n{came:?}");
    }

    /// Does what has to be done before a command; then what lies outside.
    fn readies(&self, words: &str) -> Option<String> {
        let (_, before) = BEFORE.iter().find(|(of, _)| *of == words)?;
        self.types(before);
        self.sweeps();
        Some(self.outside())
    }

    /// Whether a text stands in anything that was packed, by whatever unpacks it elsewhere.
    fn packs_tell(&self, text: &str) -> bool {
        let looks = r#"cd ../packs; cat given/*/* given/*
            for b in *.bundle; do
                rm -rf opened && git clone -q --bare $b opened && git -C opened cat-file --batch --batch-all-objects
            done"#;
        let all = self.types(&format!("{looks}\ntrue"));
        let mut all = String::from_utf8_lossy(&all.stdout).into_owned();
        let archive = File::open(self.0.path("packs/given.zip")).ok();
        let archive = archive.and_then(|file| zip::ZipArchive::new(file).ok());
        if let Some(mut archive) = archive {
            for number in 0..archive.len() {
                let mut bytes = Vec::new();
                archive
                    .by_index(number)
                    .unwrap()
                    .read_to_end(&mut bytes)
                    .unwrap();
                all.push_str(&String::from_utf8_lossy(&bytes));
            }
        }
        all.contains(text)
    }

    fn has_run(&self) -> bool {
        fs::read_dir(self.0.path("ran")).unwrap().next().is_some()
    }

    /// Takes away what was left by what ran so far.
    fn sweeps(&self) {
        for left in fs::read_dir(self.0.path("ran")).unwrap() {
            fs::remove_file(left.unwrap().path()).unwrap();
        }
    }

    /// All that lies outside, byte for byte, and when it was last written.
    fn outside(&self) -> String {
        fn walk(at: &Path, told: &mut String) {
            let mut inside: Vec<_> = fs::read_dir(at)
                .unwrap()
                .map(|e| e.unwrap().path())
                .collect();
            inside.sort();
            for path in inside {
                let about = path.symlink_metadata().unwrap();
                told.push_str(&format!(
                    "{} {:?}\n",
                    path.display(),
                    about.modified().unwrap()
                ));
                if about.is_dir() {
                    walk(&path, told);
                } else if about.is_file() {
                    told.push_str(&format!("{:?}\n", fs::read(&path).unwrap()));
                } else {
                    assert!(!about.file_type().is_fifo());
                }
            }
        }
        let mut told = String::new();
        walk(&self.0.path("out"), &mut told);
        told
    }

    fn runs(&self, words: &str) -> Came {
        let program = assert_cmd::cargo::cargo_bin("matchmark");
        let said = |name: &str| self.0.path(name);
        let (out, err) = (said("said"), said("complained"));
        let input = match words {
            "check --pushed" => {
                "printf '%040d %s refs/heads/main\\n' 0 $(git rev-parse -q --verify HEAD) |"
            }
            _ => "",
        };
        let mut child = self
            .0
            .shell()
            .arg("-c")
            .arg(match input {
                "" => format!("exec {} {words}", program.display()),
                input => format!("{input} {} {words}", program.display()),
            })
            .stdin(Stdio::null())
            .stdout(fs::File::create(&out).unwrap())
            .stderr(fs::File::create(&err).unwrap())
            .spawn()
            .unwrap();
        let begun = Instant::now();
        let mut held = 0;
        let status = loop {
            let about = fs::read_to_string(format!("/proc/{}/status", child.id()));
            let most = about.unwrap_or_default();
            let most = most.lines().find_map(|line| line.strip_prefix("VmHWM:"));
            let most = most.and_then(|most| most.trim().strip_suffix(" kB")?.parse().ok());
            held = held.max(most.unwrap_or_default());
            if let Some(status) = child.try_wait().unwrap() {
                break status;
            }
            if begun.elapsed() > PATIENCE || held > 4 * MEMORY {
                child.kill().unwrap();
                break child.wait().unwrap();
            }
            std::thread::sleep(Duration::from_millis(2));
        };
        let text = |path: &Path| String::from_utf8_lossy(&fs::read(path).unwrap()).into_owned();
        Came {
            code: status.code(),
            signal: status.signal(),
            out: text(&out),
            err: text(&err),
            held,
            took: begun.elapsed(),
        }
    }
}

/// Whether a character would do something to a terminal, or hide there.
fn spoofs(c: char) -> bool {
    c.is_control() && c != '\n'
        || matches!(c, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2069}'
            | '\u{61c}' | '\u{feff}' | '\u{e0000}'..='\u{e007f}')
}

/// What is wrong with what came of a command.
fn wrong(words: &str, yard: &Yard, came: &Came, outside: &str) -> Vec<String> {
    let mut wrong = Vec::new();
    if let Some(signal) = came.signal {
        wrong.push(format!("ended by signal {signal} after {:?}", came.took));
    } else if !matches!(came.code, Some(0..=2)) {
        wrong.push(format!("exit {:?}: {}", came.code, came.err));
    }
    if yard.has_run() {
        let trace = fs::read_to_string(yard.0.path("ran/trace")).unwrap_or_default();
        wrong.push(format!("ran something: {trace}"));
        yard.sweeps();
    }
    if yard.outside() != outside {
        wrong.push("wrote outside".to_owned());
    }
    let whole = format!("{}{}", came.out, came.err);
    // Of `lines` the file is named by whoever types it, through a link or not.
    if whole.contains(SECRET) && !words.starts_with("lines ") {
        wrong.push(format!("told what lies outside: {whole}"));
    }
    // Git shows these two to nobody before it has looked at them itself: a file's own text,
    // with names behind it, and a file of lines that end as RFC 4180 has them.
    let shown = match words {
        words if words.starts_with("lines ") => String::new(),
        words if words.ends_with("csv") => whole.replace("\r\n", "\n"),
        _ => whole,
    };
    if let Some(odd) = shown.lines().find(|line| line.chars().any(spoofs)) {
        wrong.push(format!("shows what hides: {odd:?}"));
    }
    if let Some(line) = shown.lines().find(|line| line.starts_with("forged: ")) {
        wrong.push(format!("shows a line that is not its own: {line:?}"));
    }
    if came.held > MEMORY {
        wrong.push(format!("held {} MiB", came.held >> 10));
    }
    wrong
}

/// In a plain run an attack meets one in so many of the commands, each attack others.
const PART: usize = 4;

/// The commands that an attack meets: all of them where that is asked for, or those that are
/// asked for by name.
fn commands(attack: usize) -> impl Iterator<Item = &'static str> {
    let typed = std::env::var("TYPED").unwrap_or_default();
    let all = std::env::var_os("HOSTILE").is_some() || !typed.is_empty();
    let some = COMMANDS.iter().copied().enumerate();
    let some = some.filter(move |(number, _)| all || (number + attack).is_multiple_of(PART));
    some.map(|(_, words)| words)
        .filter(move |words| typed.split(',').any(|typed| words.starts_with(typed)))
}

/// Whether a line needs a Python to make what it lays, and there is none: the plain tests ask
/// for nothing but Rust, a C compiler and git.
fn lacks_python(line: &str) -> bool {
    let found = || {
        std::process::Command::new("python3")
            .arg("--version")
            .output()
    };
    line.contains("python3") && !found().is_ok_and(|done| done.status.success())
}

/// Runs each command on each attack; `format` is how git is to keep its refs.
fn all_stand(attacks: &[Attack], format: &str) {
    let only = std::env::var("ONLY").unwrap_or_default();
    let attacks = attacks.iter().enumerate();
    let attacks = attacks.filter(|(_, attack)| attack.0.contains(&only));
    let mut all_wrong = String::new();
    for (attack, Attack(name, tampers, bait)) in attacks {
        if lacks_python(tampers) {
            println!("{name}: left out, there is no python3 to lay it");
            continue;
        }
        let tampers = &format!("exec 2>&1\n{tampers}");
        let yard = Yard::new(format);
        let laid = yard.types(tampers);
        if only == *name {
            println!("{laid:?}");
        }
        if !bait.is_empty() {
            yard.types(bait);
            assert!(yard.has_run(), "git itself does not fall for: {name}");
            yard.sweeps();
        }
        let mut outside = yard.outside();
        let (mut most, mut longest) = (0, Duration::ZERO);
        let mut ends = [0; 3];
        for words in commands(attack) {
            // What makes ready for a command may itself go where the folder leads git.
            if let Some(anew) = yard.readies(words) {
                outside = anew;
            }
            let came = yard.runs(words);
            if only.len() > 1 {
                println!(
                    "{words}: {:?} {:?} {}{}",
                    came.code, came.took, came.out, came.err
                );
            }
            most = most.max(came.held);
            longest = longest.max(came.took);
            if let Some(code @ 0..=2) = came.code {
                ends[code as usize] += 1;
            }
            for wrong in wrong(words, &yard, &came, &outside) {
                all_wrong.push_str(&format!("{name}: `matchmark {words}`: {wrong}\n"));
            }
            // What waits for ever waits in the next command too.
            if came.signal.is_some() {
                break;
            }
        }
        if yard.packs_tell(SECRET) {
            all_wrong.push_str(&format!("{name}: what lies outside is in a pack\n"));
        }
        let line = format!(
            "{name}{}: {} commands, {} clean, {} with conflicts, {} could not run; {} MiB, {:.1} s at most\n",
            if bait.is_empty() {
                ""
            } else {
                " (git falls for it)"
            },
            ends.iter().sum::<i32>(),
            ends[0],
            ends[1],
            ends[2],
            most >> 10,
            longest.as_secs_f32()
        );
        if std::env::var_os("TABLE").is_some() {
            print!("{line}");
        }
    }
    assert!(all_wrong.is_empty(), "{all_wrong}");
}

#[test]
fn a_folder_that_is_not_hostile_is_judged() {
    let yard = Yard::new("");
    let outside = yard.outside();
    for words in COMMANDS {
        yard.readies(words);
        let came = yard.runs(words);
        assert!(wrong(words, &yard, &came, &outside).is_empty(), "{words}");
        // The driver alone can't tell a record that was moved from one that is gone.
        let meant = i32::from(words.starts_with("merge --base"));
        let said = format!("{words}: {:?}\n{}{}", came.code, came.out, came.err);
        assert_eq!(came.code, Some(meant), "{said}");
    }
    let parts = yard.types("cat parts/*.yaml; ls ../packs");
    let parts = String::from_utf8(parts.stdout).unwrap();
    for put in ["bolt: ", "nut: ", "hose: ", "m: {name: Nut}", "all.bundle"] {
        assert_eq!(parts.matches(put).count(), 1, "{put} in {parts}");
    }
    assert!(yard.packs_tell("A seal"), "no pack is looked into");
}

/// A demonstration laid out inside of such a folder has a repository of its own.
#[test]
fn a_demonstration_is_shown_in_it() {
    let yard = Yard::new("");
    for Attack(name, tampers, _) in RUNS {
        if name.contains("hook") || name.contains("filter") || name.contains("core.") {
            yard.types(tampers);
        }
    }
    assert!(yard.has_run(), "git itself falls for it");
    yard.sweeps();
    let outside = yard.outside();
    let came = yard.runs("demo inside");
    assert_eq!(wrong("demo inside", &yard, &came, &outside), [""; 0]);
    assert_eq!(came.code, Some(0), "{}{}", came.out, came.err);
}

#[test]
fn nothing_is_run() {
    all_stand(RUNS, "");
}

/// The same where the library does not read the repository, and git itself is asked.
#[test]
fn nothing_is_run_by_git_either() {
    all_stand(RUNS, "--ref-format=reftable");
}

#[test]
fn nothing_outside_is_read_or_written() {
    all_stand(REACHES, "");
}

#[test]
fn no_terminal_is_spoofed() {
    all_stand(SPOOFS, "");
}

#[test]
fn memory_and_time_have_an_end() {
    all_stand(SWELLS, "");
}

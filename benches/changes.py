"""Times `changes`, its sessions and `trail` on a long history, against reading and git.

Called by `run.sh`. The history has a thousand commits over ten thousand records: evenings
of several commits with days between, two people, now and then a branch that is merged, a
record called otherwise or put into another file, a file renamed. What each command prints
is first compared with what was done to make the history; then all take turns, and their
medians are compared. Only ratios are judged.
"""

import argparse
import json
import os
import random
import re
import shutil
import statistics
import subprocess
import sys
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
RECORD = re.compile(r"(\"[^\"]+\"|[^\s#\"][^:]*):(\s|$)")
WORDS = ["face", "thread", "bore", "seat", "edge", "seal", "hose", "clip", "lug", "boss"]
SAYS = ["cleaned", "looked at again", "measured twice", "oiled", "wrapped", "marked with paint", "dry"]
GAP = 8 * 3600

# Slower command, quicker command, at most how many times; none where it is only shown.
TARGETS = [
    ("changes of one commit, guarded", "reading one state", None),
    ("changes of one commit", "reading one state", 3.0),
    ("changes of one commit", "git diff --stat of one", None),
    ("changes of a hundred", "reading one state", None),
    ("changes of a hundred", "git diff --stat of a hundred", None),
    ("sessions", "git log -p", None),
    ("trail of a long life", "git log -p of its files, long", 2.0),
    ("trail of a short life", "git log -p of its files, short", 2.0),
]


def stop(sentence):
    sys.exit(f"changes.py: {sentence}")


class File:
    """A file as its records, each with the comments above it."""

    def __init__(self, text):
        self.head, self.records = [], {}
        loose, last = [], None
        for line in text.splitlines(keepends=True):
            found = RECORD.match(line)
            if found:
                last = found.group(1).strip('"')
                self.records[last] = loose + [line]
                loose = []
            elif last is None or not line.strip() or line.startswith("#"):
                loose.append(line)
            else:
                self.records[last] += loose + [line]
                loose = []
        self.tail = loose

    def text(self):
        return "".join(line for lines in [*self.records.values(), self.tail] for line in lines)


class History:
    """The build as it comes to be, and what was done to it, commit by commit."""

    def __init__(self, folder, seed):
        self.dice = random.Random(seed)
        self.files = {}
        for path in sorted(folder.rglob("*.yaml")):
            inner = path.relative_to(folder).as_posix()
            if "/" in inner:
                self.files[inner] = File(path.read_text(encoding="utf-8"))
        self.at = {(inner.split("/")[0], name): inner for inner, file in self.files.items() for name in file.records}
        # Of each record: the commits that touched it, and the files it has stood in.
        self.touched, self.stood, self.now = {}, {}, {}
        self.stream, self.commits, self.moments = [], 0, []
        self.clock = 1_500_000_000
        self.notes = 0

    # ------------------------------------------------------------ edits

    def some(self, kind=None):
        names = self.names if kind is None else [one for one in self.names if one[0] == kind]
        while True:
            one = self.dice.choice(names)
            if one in self.at:
                return one

    def mark(self, kind, name, number):
        first = self.first(kind, name)
        self.touched.setdefault(first, []).append(number)
        self.stood.setdefault(first, set()).add(self.at[(kind, name)])

    def text_of(self, kind, name):
        return "".join(self.files[self.at[(kind, name)]].records[name])

    def first(self, kind, name):
        return self.now.get((kind, name), (kind, name))

    def note(self, kind, name):
        """Says something new of a record, in the hand that it is written in."""
        path = self.at[(kind, name)]
        lines = self.files[path].records[name]
        text = "".join(lines)
        self.notes += 1
        said = f"{self.dice.choice(WORDS)} {self.dice.choice(SAYS)}, {self.notes}"
        start = next(at for at, line in enumerate(lines) if RECORD.match(line))
        body = "".join(lines[start:])
        head = RECORD.match(body).end(1)
        if re.search(r'\bnote: "bench:[^"]*"', body):
            body = re.sub(r'\bnote: "bench:[^"]*"', f'note: "bench: {said}"', body, count=1)
        elif re.search(r"(^  |[{,]\s*)note:", body, re.MULTILINE):
            # It has a note of its own: what is at hand is another thing to change.
            if not re.search(r"\bhave: \d+", body):
                return None
            body = re.sub(r"\bhave: (\d+)", lambda have: f"have: {int(have.group(1)) + 1}", body, count=1)
        elif body[head:head + 3] == ": {":
            body = body[:head + 3] + f'note: "bench: {said}", ' + body[head + 3:]
        else:
            first, rest = body.split("\n", 1)
            body = f'{first}\n  note: "bench: {said}"\n{rest}'
        anew = "".join(lines[:start]) + body
        if anew == text:
            return None
        self.files[path].records[name] = anew.splitlines(keepends=True)
        return path

    def edit(self, number, kind, name, changed):
        path = self.note(kind, name)
        if path:
            changed.add(path)
            self.mark(kind, name, number)
        return bool(path)

    def move(self, number, kind, name, changed):
        """Puts a record into another file; to the build that is nothing."""
        others = [path for path in self.files if path.split("/")[0] == kind and path != self.at[(kind, name)]]
        if not others:
            return
        old, new = self.at[(kind, name)], self.dice.choice(others)
        self.files[new].records[name] = self.files[old].records.pop(name)
        self.at[(kind, name)] = new
        self.stood.setdefault(self.first(kind, name), set()).update([old, new])
        changed.update([old, new])

    def rename(self, number, kind, name, changed):
        """Calls a record otherwise, and all that refers to it with it."""
        new = f"{name}-b"
        first, path = self.first(kind, name), self.at.pop((kind, name))
        word = re.compile(rf"(?<![\w-]){re.escape(name)}(?![\w-])")
        for inner, file in self.files.items():
            if name not in file.text():
                continue
            for other, lines in list(file.records.items()):
                text = "".join(lines)
                anew = word.sub(new, text)
                if anew != text:
                    file.records[other] = anew.splitlines(keepends=True)
                    changed.add(inner)
                    own = inner.split("/")[0]
                    if (own, other) != (kind, name):
                        self.mark(own, other, number)
        self.files[path].records = {new if one == name else one: lines for one, lines in self.files[path].records.items()}
        self.at[(kind, new)] = path
        self.now[(kind, new)] = first
        self.names.append((kind, new))
        self.mark(kind, new, number)

    # ------------------------------------------------------------ commits

    def commit(self, branch, who, changed, parents, gone=(), message="bench"):
        self.commits += 1
        mark = self.commits
        self.stream.append(f"commit refs/heads/{branch}\nmark :{mark}\n")
        person = f"{who} <{who}@example.invalid> {self.clock} +0100\n"
        self.stream.append(f"author {person}committer {person}")
        said = f"{message} {mark}"
        self.stream.append(f"data {len(said)}\n{said}\n")
        for lead, parent in zip(["from", "merge"], parents):
            self.stream.append(f"{lead} :{parent}\n")
        for path in sorted(gone):
            self.stream.append(f"D {path}\n")
        for path in sorted(changed):
            text = self.files[path].text()
            self.stream.append(f"M 100644 inline {path}\ndata {len(text.encode())}\n{text}\n")
        return mark

    def make(self, folder, commits):
        """A history of so many commits; the first brings all in."""
        self.names = sorted(self.at)
        # One that has no note of its own can be told something new any number of times.
        bare = (one for one in self.names if one[0] == "parts" and "note:" not in self.text_of(*one))
        favourite = next(bare)
        text = (folder / "build.yaml").read_text(encoding="utf-8")
        self.files["build.yaml"] = whole = File("")
        whole.tail = [text]
        last = self.commit("main", "builder", list(self.files), [])
        self.main_line, self.last_touched = [(last, self.clock)], set()
        self.touched.clear()
        left = 0
        while self.commits < commits:
            # So many more this evening; then some days go by.
            if left == 0:
                left = self.dice.randint(1, 6)
                self.clock += self.dice.randint(2, 20) * 86400
            left -= 1
            self.clock += self.dice.randint(600, 3000)
            room = commits - self.commits
            if room > 4 and self.dice.random() < 0.03:
                last = self.branch(last)
                continue
            number = self.commits + 1
            changed, gone = set(), set()
            roll = self.dice.random()
            who = "helper" if self.dice.random() < 0.3 else "builder"
            now = next(one for one in [(favourite[0], favourite[1] + "-b"), favourite] if one in self.at)
            if number == commits // 2 or number == commits // 4:
                self.move(number, *now, changed)
            elif number == commits * 2 // 3:
                self.rename(number, *now, changed)
            elif number % 17 == 0:
                self.edit(number, *now, changed)
            elif roll < 0.03:
                self.move(number, *self.some(), changed)
            elif roll < 0.05:
                self.rename(number, *self.some("photos"), changed)
            elif roll < 0.06:
                old = self.dice.choice([path for path in self.files if "/" in path])
                new = old.replace(".yaml", f"-{number}.yaml")
                self.files[new] = self.files.pop(old)
                kind = old.split("/")[0]
                for name in self.files[new].records:
                    self.at[(kind, name)] = new
                    self.stood.setdefault(self.first(kind, name), set()).update([old, new])
                gone, changed = {old}, {new}
            self.touch_some(number, changed, None)
            last = self.commit("main", who, changed, [last], gone)
            self.main_line.append((last, self.clock))
            self.last_number = number
        self.favourite = now
        if self.commits != commits:
            stop(f"{self.commits} commits were made, not {commits}")

    def touch_some(self, number, changed, only):
        """One to five records that stand near each other, now and then one elsewhere."""
        kind, name = self.some(only)
        wanted, done = self.dice.choice([1, 1, 1, 2, 2, 3, 5]), 0
        near = list(self.files[self.at[(kind, name)]].records)
        start = near.index(name)
        for other in near[start:] + near[:start]:
            if done == wanted:
                return
            done += self.edit(number, kind, other, changed)

    def branch(self, last):
        """The helper's two or three commits on the side, one of the builder's, and a merge."""
        side, files = last, set()
        for _ in range(self.dice.randint(1, 2)):
            changed = set()
            self.clock += 900
            self.touch_some(self.commits + 1, changed, "circuits")
            side = self.commit("side", "helper", changed, [side])
            files |= changed
        changed = set()
        self.clock += 900
        self.touch_some(self.commits + 1, changed, "fasteners")
        last = self.commit("main", "builder", changed, [last])
        self.main_line.append((last, self.clock))
        self.clock += 900
        # The files of both sides are others, so that the merge is all of both.
        last = self.commit("main", "builder", files, [last, side], message="merge")
        self.main_line.append((last, self.clock))
        return last

    def sessions(self):
        count, before = 0, None
        for _, moment in self.main_line:
            count += before is None or abs(moment - before) >= GAP
            before = moment
        return count


def main():
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--matchmark", required=True)
    options.add_argument("--reading", required=True)
    options.add_argument("--work", type=Path, required=True)
    options.add_argument("--records", type=int, default=10000)
    options.add_argument("--commits", type=int, default=1000)
    options.add_argument("--rounds", type=int, default=7)
    options.add_argument("--seed", type=int, default=1)
    options = options.parse_args()
    environment = {key: value for key, value in os.environ.items() if not key.startswith("GIT_")}
    environment |= {"GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_NOSYSTEM": "1", "GIT_PAGER": "cat", "LC_ALL": "C.UTF-8"}
    folder = options.work / "long-history"

    def run(*command, given=None):
        done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, input=given)
        if done.returncode:
            stop(f"{' '.join(map(str, command))}: {done.stdout.decode()[-2000:]}{done.stderr.decode()[-2000:]}")
        return done.stdout.decode()

    folder.mkdir(parents=True)
    run(sys.executable, HERE / "generate.py", folder, "--records", str(options.records), "--seed", str(options.seed))
    history = History(folder, options.seed)
    history.make(folder, options.commits)
    run("git", "init", "-q", "-b", "main")
    run("git", "fast-import", "--quiet", given="".join(history.stream).encode())
    run("git", "repack", "-adq")
    run("git", "add", "-A")
    run("git", "reset", "-q", "--hard")

    # What the history was made of is what git tells of it.
    if int(run("git", "rev-list", "--count", "main")) != options.commits:
        stop("git counts other commits")
    long = history.favourite
    lives = {"long": long, "short": short_life(history)}
    trails = {}
    for which, (kind, name) in lives.items():
        first = history.first(kind, name)
        trails[which] = (f"{kind}/{name}", sorted(history.stood[first]), sorted(set(history.touched[first])))
    prove(options, run, history, trails)

    # In a clone that is guarded a commit leaves behind what its files were read as.
    program = options.matchmark
    guarded = options.work / "guarded"
    shutil.copytree(folder, guarded, symlinks=True)
    run(program, "guard", guarded)
    who = ["-c", "user.name=builder", "-c", "user.email=builder@example.invalid"]
    run("git", "-C", guarded, *who, "commit", "-q", "--amend", "--no-edit")
    commands = {
        "reading one state": [options.reading, folder],
        "changes of one commit": [program, "changes", "HEAD~1", "HEAD"],
        "changes of one commit, guarded": [program, "changes", "HEAD~1", "HEAD", "--folder", guarded],
        "git diff --stat of one": ["git", "diff", "--stat", "HEAD~1", "HEAD"],
        "changes of a hundred": [program, "changes", "HEAD~100", "HEAD"],
        "git diff --stat of a hundred": ["git", "diff", "--stat", "HEAD~100", "HEAD"],
        "sessions": [program, "changes", "--sessions"],
        "git log -p": ["git", "log", "-p"],
    }
    for which, (record, files, _) in trails.items():
        commands[f"trail of a {which} life"] = [program, "trail", record]
        commands[f"git log -p of its files, {which}"] = ["git", "log", "-p", "--", *files]
    took = {name: [] for name in commands}
    for turn in range(options.rounds + 1):
        for name, command in commands.items():
            begun = time.perf_counter()
            done = subprocess.run(command, cwd=folder, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
            if done.returncode:
                stop(f"{name} ended with {done.returncode}: {done.stderr.decode()[-2000:]}")
            if turn:
                took[name].append(time.perf_counter() - begun)
    print(f"{options.commits} commits over {options.records} records, {os.cpu_count()} cores, {options.rounds} rounds")
    for which, (record, files, commits) in trails.items():
        print(f"a {which} life: {record}, touched in {len(commits)} commits, in {len(files)} files")
    middle = {name: statistics.median(times) for name, times in took.items()}
    for name, times in took.items():
        print(f"  {name:32}{middle[name]:8.3f} s  ({min(times):.3f} to {max(times):.3f})")
    good = True
    for slower, quicker, most in TARGETS:
        ratio = middle[slower] / middle[quicker]
        met = most is None or ratio <= most
        good &= met
        judged = "" if most is None else f"  at most {most:g}: {'met' if met else 'NOT MET'}"
        print(f"  {slower} / {quicker}: {ratio:.2f}{judged}")
    sys.exit(0 if good else 1)


def short_life(history):
    """A record that was touched twice and never called otherwise."""
    for (kind, name), commits in sorted(history.touched.items()):
        if len(set(commits)) == 2 and (kind, name) in history.at and kind == "parts":
            return kind, name
    stop("no record was touched just twice")


def prove(options, run, history, trails):
    """What is timed must be what was asked for."""

    def told(*command):
        return json.loads(run(options.matchmark, *command, "--format", "json"))

    want = sorted({f"{kind}/{name}" for kind, name in last_touched(history, history.last_number)})
    told_of = told("changes", "HEAD~1", "HEAD")
    got = sorted(one["record"] for one in told_of["records"])
    if got != want or told_of["not_compared"]:
        stop(f"the last commit touched {want}, and `changes` tells of {got}")
    sessions = told("changes", "--sessions")["sessions"]
    if (len(sessions), sum(one["commits"] for one in sessions)) != (history.sessions(), options.commits):
        stop(f"there were {history.sessions()} sessions, and {len(sessions)} are told")
    for record, _, commits in trails.values():
        steps = [one for one in told("trail", record)["steps"] if one["record"]]
        got = [int(one["title"].split()[-1]) for one in steps]
        if sorted(got) != [1, *commits]:
            stop(f"{record} changed in commits {[1, *commits]}, and its trail tells of {sorted(got)}")


def last_touched(history, number):
    for first, commits in history.touched.items():
        if number in commits:
            yield next((now for now, old in history.now.items() if old == first and now in history.at), first)


if __name__ == "__main__":
    main()

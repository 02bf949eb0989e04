"""Times whole runs, one after another, and compares their medians.

Called by `run.sh`, with everything built and installed. A run is timed from the
start of its process to its end, as somebody at the prompt would wait for it. The
contestants take turns, so that a change on the machine meets all of them alike.
Only ratios are judged: seconds differ from machine to machine.

Both peers read and validate and do nothing else. `matchmark check` also keeps
every position, follows every reference, reads every figure and runs its rules.
"""

import argparse
import importlib.metadata
import json
import os
import platform
import re
import shutil
import statistics
import subprocess
import sys
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
SCHEMAS = HERE.parent / "schema"
AS_OF = "2026-03-21"

# Slower contestant, quicker contestant, at most or at least, how many times.
TARGETS = [("check", "reading", "at most", 2.5), ("python", "check", "at least", 4.0), ("node", "check", "at least", 3.0)]


class Run:
    def __init__(self, command, threads):
        environment = {key: value for key, value in os.environ.items() if key != "RAYON_NUM_THREADS"}
        if threads:
            environment["RAYON_NUM_THREADS"] = str(threads)
        start = time.perf_counter()
        process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment)
        # What they print is short, so that no pipe fills up.
        self.output = process.stdout.read().decode()
        self.complaint = process.stderr.read().decode()
        _, status, used = os.wait4(process.pid, 0)
        self.wall = time.perf_counter() - start
        process.returncode = os.waitstatus_to_exitcode(status)
        self.code = process.returncode
        self.processor = used.ru_utime + used.ru_stime
        # Kilobytes on Linux, bytes on macOS.
        self.memory = used.ru_maxrss / (1024 if sys.platform != "darwin" else 1 << 20)

    def told(self):
        """Files, records, and whether all was well, as the run itself says."""
        if self.output.startswith("{"):
            told = json.loads(self.output)
            return told["files"], told["records"], told["failures"] == 0 and self.code == 0
        found = re.search(r"^([\d,.\s]+) records? in ([\d,.\s]+) files?: ", self.output, re.MULTILINE)
        if not found:
            return None
        records, files = (int(re.sub(r"\D", "", number)) for number in found.groups())
        return files, records, self.code == 0

    def compiling(self):
        return json.loads(self.output).get("compile-seconds") if self.output.startswith("{") else None


def stop(sentence):
    sys.exit(f"run.py: {sentence}")


def contestants(options, folder):
    node = shutil.which("node") or stop("there is no node")
    return {
        "check": [options.matchmark, "check", folder, "--as-of", AS_OF],
        "reading": [options.reading, folder],
        "typed": [options.reading, folder, "--typed"],
        "python": [sys.executable, HERE / "peers" / "check.py", folder, SCHEMAS],
        "node": [node, options.work / "check.mjs", folder, SCHEMAS],
    }


def generate(options, folder, records):
    command = [sys.executable, HERE / "generate.py", folder, "--records", str(records), "--seed", str(options.seed)]
    return json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)


def prove(options):
    """A contestant that lets a wrong record pass would win by doing nothing."""
    folder = options.work / "wrong"
    generate(options, folder, 200)
    file = next(iter(sorted((folder / "photos").rglob("*.yaml"))))
    file.write_text(re.sub(r"taken: [0-9-]+", "taken: 2026-02-30", file.read_text(encoding="utf-8"), count=1), encoding="utf-8")
    for name in ("check", "python", "node"):
        run = Run(contestants(options, folder)[name], None)
        if run.code != 1:
            stop(f"{name} does not refuse a wrong record: exit code {run.code}\n{run.output}{run.complaint}")


def measure(options, folder, made, threads):
    """The runs of each contestant, after one each to warm up."""
    commands = contestants(options, folder)
    runs = {name: [] for name in commands}
    for number in range(options.rounds + 1):
        for name, command in commands.items():
            run = Run(command, threads)
            if run.told() != (made["files"], made["records"], True):
                stop(f"{name} ended with {run.code} and did not say {made['records']} good records:\n{run.output[-2000:]}{run.complaint[-2000:]}")
            if number:
                runs[name].append(run)
    return runs


def median(runs, figure):
    return statistics.median(figure(run) for run in runs)


def show(runs, title, held=None):
    """Prints the table and the targets; says whether those that it is held to were met."""
    print(f"\n{title}")
    print(f"{'':9}{'median':>9}{'least':>9}{'most':>9}{'processor':>11}{'memory':>9}{'compiling':>11}")
    wall = {}
    for name, its in runs.items():
        times = [run.wall for run in its]
        wall[name] = statistics.median(times)
        row = f"{name:9}{wall[name]:7.3f} s{min(times):7.3f} s{max(times):7.3f} s{median(its, lambda run: run.processor):9.3f} s"
        row += f"{median(its, lambda run: run.memory):6.0f} MB"
        if its[0].compiling() is not None:
            row += f"{median(its, Run.compiling):9.3f} s"
        print(row)
    # This one runs on one thread and waits for nothing: it has the processor all the time, if nobody else wants it.
    share = median(runs["python"], lambda run: run.processor / run.wall)
    if share < 0.95:
        print(f"other work was going on (python had {share:.0%} of a processor): do not trust these figures too far")
    all_met = True
    print(f"typed / reading    {wall['typed'] / wall['reading']:6.2f}")
    print(f"check / typed      {wall['check'] / wall['typed']:6.2f}")
    for slower, quicker, side, times in TARGETS:
        ratio = wall[slower] / wall[quicker]
        met = ratio <= times if side == "at most" else ratio >= times
        counts = held is None or (slower, quicker, side, times) in held
        all_met &= met or not counts
        pair = f"{slower} / {quicker}"
        print(f"{pair:19}{ratio:6.2f}   {side} {times:g}: {'met' if met else 'NOT MET'}{'' if counts else ' (not held to)'}")
    return all_met


def first_line(command):
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout.split("\n")[0]


def versions(options):
    def package(name):
        return json.loads((options.work / "node_modules" / name / "package.json").read_text(encoding="utf-8"))["version"]

    yield first_line([options.matchmark, "--version"])
    yield first_line(["rustc", "--version"])
    yield f"Python {platform.python_version()}"
    yield from (f"{name} {importlib.metadata.version(name)}" for name in ("PyYAML", "fastjsonschema"))
    yield f"node {first_line(['node', '--version'])}"
    yield from (f"{name} {package(name)}" for name in ("js-yaml", "ajv", "ajv-formats"))


def main():
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--matchmark", required=True)
    options.add_argument("--reading", required=True)
    options.add_argument("--work", type=Path, required=True)
    options.add_argument("--records", type=int, default=10000)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--rounds", type=int, default=7)
    options = options.parse_args()

    prove(options)
    folder = options.work / "build"
    made = generate(options, folder, options.records)
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    print(f"{made['records']} records in {made['files']} files, {made['bytes']} bytes; {cores} cores; {options.rounds} rounds; seed {options.seed}")
    print(", ".join(versions(options)))

    met = show(measure(options, folder, made, None), f"with the threads that there are ({cores})")
    # The share of reading must hold on one thread too. The peers are held against the
    # check as it is run; on one thread node has been seen at 2.6 times, below its 3.
    met &= show(measure(options, folder, made, 1), "with one thread (RAYON_NUM_THREADS=1)", TARGETS[:1])
    print("\nall targets met" if met else "\na target is missed")
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main())

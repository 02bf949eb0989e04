"""Times `git commit` with the hook and without, on builds of two sizes.

Called by `run.sh`. Each round changes one file and commits it, in turns with the hook
in force and with git told of no hooks, so that a change on the machine meets both
alike. What the hook adds is judged: at most so many milliseconds on the smaller build,
and on the larger one at most as many times more as it holds more records.
"""

import argparse
import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
SMALL, LARGE = 1000, 10000
AT_MOST = 15.0


def main():
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--matchmark", required=True)
    options.add_argument("--work", type=Path, required=True)
    options.add_argument("--rounds", type=int, default=21)
    options = options.parse_args()
    environment = {key: value for key, value in os.environ.items() if not key.startswith("GIT_")}
    environment |= {"GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_NOSYSTEM": "1"}
    for who in ("AUTHOR", "COMMITTER"):
        environment |= {f"GIT_{who}_NAME": "builder", f"GIT_{who}_EMAIL": "builder@example.invalid"}

    def run(folder, *command):
        begun = time.perf_counter()
        done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True)
        took = (time.perf_counter() - begun) * 1000
        if done.returncode:
            sys.exit(f"commits.py: {' '.join(map(str, command))}: {done.stdout}{done.stderr}")
        return took

    adds = {}
    print(f"git commit, {os.cpu_count()} cores, {options.rounds} rounds, milliseconds")
    for records in (SMALL, LARGE):
        folder = options.work / f"commits-{records}"
        run(HERE, sys.executable, HERE / "generate.py", folder, "--records", str(records))
        run(folder, "git", "init", "-q", "-b", "main")
        run(folder, "git", "config", "gc.auto", "0")
        run(folder, "git", "add", "-A")
        run(folder, "git", "commit", "-qm", "all")
        run(folder, options.matchmark, "guard")
        changed = next(folder.glob("donors/**/*.yaml"))
        took = {"with": [], "without": []}
        for turn in range(options.rounds):
            for how, typed in (("with", []), ("without", ["-c", f"core.hooksPath={os.devnull}"])):
                with changed.open("a") as file:
                    file.write(f"# {how} {turn}\n")
                took[how].append(run(folder, "git", *typed, "commit", "-qam", how))
        # The hook must be what is measured: a slip is refused.
        text = changed.read_text()
        changed.write_text(text + "slip: {nmae: x}\n")
        if subprocess.run(["git", "commit", "-qam", "slip"], cwd=folder, env=environment, capture_output=True).returncode == 0:
            sys.exit("commits.py: the hook let a slip through")
        middle = {how: statistics.median(times) for how, times in took.items()}
        adds[records] = middle["with"] - middle["without"]
        print(
            f"  {records:6} records: {middle['without']:6.1f} without, {middle['with']:6.1f} with,"
            f" {adds[records]:6.1f} more, {middle['with'] / middle['without']:5.2f} times"
        )
    grows = adds[LARGE] / adds[SMALL]
    good = adds[SMALL] < AT_MOST and grows <= LARGE / SMALL
    print(
        f"  the hook adds {adds[SMALL]:.1f} at {SMALL} records (below {AT_MOST:.0f}), and {grows:.1f} times that"
        f" at {LARGE // SMALL} times the records: {'met' if good else 'MISSED'}"
    )
    sys.exit(0 if good else 1)


if __name__ == "__main__":
    main()

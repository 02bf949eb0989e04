"""Judges what `matchmark check --format sarif` prints by two judges of others.

    sarif.py MATCHMARK SCHEMA MULTITOOL

SCHEMA is the schema of SARIF 2.1.0 by OASIS, which ships in the sources of the
crate `serde-sarif`; MULTITOOL is the validator in the npm package
`@microsoft/sarif-multitool-linux`, which knows the standard's rules that no
schema can say. Then the output is spoilt in many ways: each judge must see what
is its to see, or its word would mean nothing.
"""

import copy
import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

from jsonschema import Draft7Validator, FormatChecker
from jsonschema.exceptions import best_match

TITLE = "Static Analysis Results Format (SARIF) Version 2.1.0 JSON Schema"
ID = "https://raw.githubusercontent.com/oasis-tcs/sarif-spec/master/Schemata/sarif-schema-2.1.0.json"
# Fails at once where nothing checks the form of an address.
FORMATS = FormatChecker(formats=["uri-reference", "uri"])

# Findings of each level, other places, odd names, text that would be a link or a
# placeholder, columns behind letters that take two bytes or four, and one settled.
BUILD = {
    "build.yaml": "name: Brindlet\nlevels: {changed-by-yaml: note}\n",
    "donors/all.yaml": "pell-van: {maker: Pell}\n",
    "parts/größe 2 #?%[1].yaml": "injector:\n  name: I\n  pieces: {P1: {donor: pel-van, note: ö𝄞, condition: \"{0} [x](1)\"}}\n",
    "parts/all.yaml": "unit: {name: Unit, number: 0123}\nkey: {name: Key, number: 0456}\n",
    "a:b/all.yaml": "x: {}\n",
    "jobs/broken.yaml": "a: {does: [\n",
    "decisions/all.yaml": "leave:\n  asks: Quote it?\n  options: {leave: {}}\n  chosen: leave\n  because: stamped so\n"
    "  settles: [{rule: changed-by-yaml, at: parts/unit}]\n",
}


def printed(matchmark):
    with tempfile.TemporaryDirectory() as folder:
        for path, text in BUILD.items():
            path = Path(folder, path)
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(text.encode())
        done = subprocess.run(
            [Path(matchmark).resolve(), "check", "--format", "sarif", folder],
            capture_output=True,
            check=False,
        )
    if done.returncode != 1 or done.stderr:
        sys.exit(f"the check ended with {done.returncode}: {done.stderr.decode()}")
    return json.loads(done.stdout)


def multitool(program, log):
    """The rules of the validator that a log breaks, with what it says."""
    with tempfile.TemporaryDirectory() as folder:
        given, said = Path(folder, "given.sarif"), Path(folder, "said.sarif")
        given.write_text(json.dumps(log), encoding="utf-8")
        # Without this it looks for a library of languages that it does not need.
        quiet = {"DOTNET_SYSTEM_GLOBALIZATION_INVARIANT": "1"}
        done = subprocess.run(
            [program, "validate", given, "--output", said, "--level", "Error;Warning"],
            env=os.environ | quiet,
            capture_output=True,
            check=False,
        )
        if done.returncode != 0:
            sys.exit(f"the validator did not run: {done.stdout.decode()}")
        run = json.loads(said.read_text(encoding="utf-8-sig"))["runs"][0]
    if not run["invocations"][0]["executionSuccessful"]:
        sys.exit(f"no answer of the validator: {run}")
    # There is no page of the project's own to send a reader to.
    return {
        result["ruleId"]: result["message"]
        for result in run.get("results", [])
        if result["message"].get("id") != "Warning_ProvideToolnformationUri"
    }


def result(log, number=0):
    return log["runs"][0]["results"][number]


def place(log):
    return result(log)["locations"][0]["physicalLocation"]


def change(target, key, value):
    target[key] = value


# What spoils a log, and who must see it: the schema, or a rule of the validator.
SPOILT = {
    "another version": (lambda log: change(log, "version", "2.0.0"), "schema"),
    "no runs": (lambda log: log.pop("runs"), "schema"),
    "an unknown key": (lambda log: change(result(log), "remedy", "x"), "schema"),
    "no message": (lambda log: result(log).pop("message"), "schema"),
    "an unknown level": (lambda log: change(result(log), "level", "fatal"), "schema"),
    "columns in an unknown unit": (
        lambda log: change(log["runs"][0], "columnKind", "bytes"),
        "schema",
    ),
    "line nought": (lambda log: change(place(log)["region"], "startLine", 0), "schema"),
    "a suppression of no kind": (
        lambda log: change(result(log), "suppressions", [{"status": "accepted"}]),
        "schema",
    ),
    "a rule without its id": (
        lambda log: log["runs"][0]["tool"]["driver"]["rules"][0].pop("id"),
        "schema",
    ),
    "help without its text": (
        lambda log: log["runs"][0]["tool"]["driver"]["rules"][0]["help"].pop("text"),
        "schema",
    ),
    "an address with a space": (
        lambda log: change(place(log)["artifactLocation"], "uri", "a b.yaml"),
        "schema",
    ),
    "an address with an umlaut": (
        lambda log: change(place(log)["artifactLocation"], "uri", "ö.yaml"),
        "schema",
    ),
    "another rule's index": (lambda log: change(result(log), "ruleIndex", 99), "SARIF1009"),
    "an end before the start": (
        lambda log: change(place(log), "region", {"startLine": 4, "endLine": 2}),
        "SARIF1007",
    ),
    "an address that is none": (
        lambda log: change(place(log)["artifactLocation"], "uri", "a b.yaml"),
        "SARIF1002",
    ),
    "an absolute path": (
        lambda log: change(place(log)["artifactLocation"], "uri", "/parts/all.yaml"),
        "SARIF1004",
    ),
    "a draft's schema": (
        lambda log: change(log, "$schema", "https://example.com/sarif-2.0.0.json"),
        "SARIF1011",
    ),
    "a message by a name that no rule has": (
        lambda log: change(result(log), "message", {"id": "default", "arguments": ["x"]}),
        "SARIF1012",
    ),
    "a base without its slash": (
        lambda log: change(log["runs"][0], "originalUriBaseIds", {"BUILD": {"uri": "a/b"}}),
        "SARIF1004",
    ),
}


def main(arguments):
    if len(arguments) != 3:
        sys.exit(__doc__)
    schema = json.loads(Path(arguments[1]).read_text(encoding="utf-8"))
    if schema.get("title") != TITLE or schema.get("$id") != ID:
        sys.exit(f"{arguments[1]} is not the schema of OASIS")
    Draft7Validator.check_schema(schema)
    validator = Draft7Validator(schema, format_checker=FORMATS)

    failures = []
    passed = 0

    def judge(good, said):
        nonlocal passed
        if good:
            passed += 1
        else:
            failures.append(said)

    log = printed(arguments[0])
    results = log["runs"][0]["results"]
    for has, what in [
        ({"error", "warning", "note"} <= {one["level"] for one in results}, "a level"),
        (any(one["suppressions"] for one in results), "a settled one"),
        (any("relatedLocations" in one for one in results), "another place"),
        (any("%" in json.dumps(one["locations"]) for one in results), "an odd name"),
    ]:
        judge(has, f"the sample lacks {what}")

    error = best_match(validator.iter_errors(log))
    judge(error is None, error and f"the schema: {error.json_path}: {error.message}")
    broken = multitool(arguments[2], log)
    judge(not broken, f"the validator: {broken}")

    for name, (spoil, judge_of_it) in SPOILT.items():
        spoilt = copy.deepcopy(log)
        spoil(spoilt)
        if judge_of_it == "schema":
            judge(not validator.is_valid(spoilt), f"the schema does not see {name}")
        else:
            said = multitool(arguments[2], spoilt)
            judge(judge_of_it in said, f"the validator does not see {name}: {said}")

    for failure in failures:
        print(failure)
    print(f"{passed} passed, {len(failures)} failed")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

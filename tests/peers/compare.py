"""Judges the fixtures again with the `jsonschema` package of PyPI.

    compare.py FIXTURES_JSON SCHEMA_FOLDER [CHECK_JSON]

FIXTURES_JSON is written by `PARSED_TO=FOLDER cargo test --test fixtures`;
CHECK_JSON is what `matchmark check --format json` printed. Every schema must be
a schema of draft 2020-12, every verdict the same as ours, and CHECK_JSON what
findings.json promises.
"""

import json
import sys
from pathlib import Path

from jsonschema import Draft202012Validator, FormatChecker
from jsonschema.exceptions import SchemaError, best_match

FEWEST = 80
FORMATS = FormatChecker(formats=["date"])


def load(path):
    return json.loads(Path(path).read_text(encoding="utf-8"))


def validators(folder, failures):
    """A validator for each schema that is one."""
    found = {}
    for path in sorted(Path(folder).glob("*.json")):
        schema = load(path)
        try:
            if schema.get("$schema") != Draft202012Validator.META_SCHEMA["$id"]:
                raise SchemaError("its $schema is not draft 2020-12")
            Draft202012Validator.check_schema(schema)
        except SchemaError as error:
            failures.append(f"{path.name}: no schema: {error.message}")
        else:
            found[path.name] = Draft202012Validator(schema, format_checker=FORMATS)
    return found


def reason(validator, data):
    error = best_match(validator.iter_errors(data))
    return f"{error.json_path}: {error.message}" if error else "nothing wrong"


def main(arguments):
    if len(arguments) not in (2, 3):
        sys.exit(__doc__)
    failures = []
    fixtures = load(arguments[0])
    schemas = validators(arguments[1], failures)
    passed = len(schemas)
    if "findings.json" not in schemas:
        failures.append("findings.json: missing or no schema")

    for fixture in fixtures:
        validator = schemas.get(fixture["schema"])
        if validator is None:
            failures.append(f"{fixture['file']}: no schema {fixture['schema']}")
            continue
        accepted = validator.is_valid(fixture["data"])
        if accepted == fixture["accepted"]:
            passed += 1
        else:
            ours = "accepted" if fixture["accepted"] else "refused"
            failures.append(
                f"{fixture['file']}: {ours} by us, here: {reason(validator, fixture['data'])}"
            )
    if len(fixtures) < FEWEST:
        failures.append(f"only {len(fixtures)} fixtures, of {FEWEST} at least")

    if len(arguments) == 3 and "findings.json" in schemas:
        validator = schemas["findings.json"]
        printed = load(arguments[2])
        if validator.is_valid(printed):
            passed += 1
        else:
            failures.append(f"{arguments[2]}: {reason(validator, printed)}")

    for failure in failures:
        print(failure)
    print(f"{passed} passed, {len(failures)} failed")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

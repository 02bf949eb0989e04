"""Reads a build folder with PyYAML's C reader and validates it with fastjsonschema.

    check.py FOLDER SCHEMA_FOLDER

The quickest way known to us to do in Python what a schema can say: the YAML
reader is libyaml, and each schema is made into Python code before it is used.
It keeps no positions, follows no reference and knows no rule. Prints one line of
JSON; exit code 1 if a file was refused.
"""

import json
import re
import sys
import time
from pathlib import Path

import fastjsonschema
import yaml

if not yaml.__with_libyaml__:
    sys.exit("check.py: this PyYAML has no C reader (yaml.CSafeLoader), so the comparison would be unfair")


class Loader(yaml.CSafeLoader):
    """Dates stay text, as they do in YAML 1.2 and as our schemas want them."""

    yaml_implicit_resolvers = {
        first: [(tag, pattern) for tag, pattern in resolvers if tag != "tag:yaml.org,2002:timestamp"]
        for first, resolvers in yaml.CSafeLoader.yaml_implicit_resolvers.items()
    }


def drop_own(schema):
    """The keywords that begin with `x-` say what a text means and refuse nothing."""
    if isinstance(schema, dict):
        return {key: drop_own(value) for key, value in schema.items() if not key.startswith("x-")}
    if isinstance(schema, list):
        return [drop_own(item) for item in schema]
    return schema


def beside_refs(schema):
    """What stands beside a `$ref`: draft 7 passes over it, draft 2020-12 does not."""
    if isinstance(schema, dict):
        if isinstance(schema.get("$ref"), str):
            yield from (key for key in schema if key != "$ref")
        for value in schema.values():
            yield from beside_refs(value)
    elif isinstance(schema, list):
        for item in schema:
            yield from beside_refs(item)


# What means the same in both drafts; a keyword that is not here must be looked at first.
ALIKE = {
    "$defs", "$ref", "additionalProperties", "anyOf", "description", "enum", "examples", "format", "items", "maxItems",
    "maximum", "minItems", "minLength", "minProperties", "minimum", "pattern", "properties", "propertyNames", "required",
    "title", "type", "uniqueItems",
}


def keywords(schema):
    if isinstance(schema, bool):
        return
    for key, value in schema.items():
        yield key
        if key in ("properties", "$defs"):
            for inner in value.values():
                yield from keywords(inner)
        elif key in ("items", "additionalProperties", "propertyNames"):
            if not isinstance(value, (dict, bool)):
                sys.exit(f"check.py: `{key}` in a form that the drafts read unlike")
            yield from keywords(value)
        elif key == "anyOf":
            for inner in value:
                yield from keywords(inner)


def as_draft_7(schema):
    """The same schema in the words of draft 7, which is the newest that fastjsonschema knows."""
    schema = drop_own(schema)
    if schema.pop("$schema") != "https://json-schema.org/draft/2020-12/schema":
        sys.exit("check.py: a schema is not of draft 2020-12")
    # Without it, all references stay inside the document.
    schema.pop("$id")
    if unknown := set(keywords(schema)) - ALIKE:
        sys.exit(f"check.py: the drafts may read these unlike: {', '.join(sorted(unknown))}")
    if beside := set(beside_refs(schema)) - {"description"}:
        sys.exit(f"check.py: draft 7 would pass over what stands beside a $ref: {', '.join(sorted(beside))}")
    schema["$schema"] = "http://json-schema.org/draft-07/schema#"
    return schema


def validators(folder, kinds):
    made = {}
    for kind in sorted(kinds):
        schema = json.loads((folder / f"{kind}.json").read_text(encoding="utf-8"))
        made[kind] = fastjsonschema.compile(as_draft_7(schema), detailed_exceptions=False, use_default=False)
    return made


def main(folder, schemas):
    folder, schemas = Path(folder), Path(schemas)
    files = [
        path
        for path in sorted(folder.rglob("*.yaml"))
        if not any(part.startswith(".") for part in path.relative_to(folder).parts)
    ]
    kinds = {path: re.sub(r"\.yaml$", "", path.relative_to(folder).parts[0]) for path in files}
    start = time.perf_counter()
    made = validators(schemas, set(kinds.values()))
    compiling = time.perf_counter() - start
    records = failures = 0
    for path, kind in kinds.items():
        data = yaml.load(path.read_bytes(), Loader=Loader)
        try:
            made[kind](data)
        except fastjsonschema.JsonSchemaValueException as error:
            failures += 1
            print(f"{path}: {error.message}", file=sys.stderr)
        if kind != "build":
            records += len(data)
    print(json.dumps({"files": len(files), "records": records, "failures": failures, "compile-seconds": round(compiling, 3)}))
    return 1 if failures else 0


if __name__ == "__main__":
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    sys.exit(main(*sys.argv[1:]))

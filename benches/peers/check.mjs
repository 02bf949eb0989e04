// Reads a build folder with js-yaml and validates it with ajv.
//
//     node check.mjs FOLDER SCHEMA_FOLDER
//
// ajv makes each schema into JavaScript before it is used. No positions are kept,
// no reference is followed, no rule is known. Prints one line of JSON; exit code 1
// if a file was refused.

import { readFileSync, readdirSync } from "node:fs";
import { join, relative, sep } from "node:path";
import process from "node:process";
import { performance } from "node:perf_hooks";
import Ajv2020 from "ajv/dist/2020.js";
import addFormats from "ajv-formats";
import { CORE_SCHEMA, load } from "js-yaml";

function yamlFiles(folder) {
  return readdirSync(folder, { withFileTypes: true })
    .filter((entry) => !entry.name.startsWith("."))
    .sort((a, b) => (a.name < b.name ? -1 : 1))
    .flatMap((entry) => {
      const path = join(folder, entry.name);
      if (entry.isDirectory()) return yamlFiles(path);
      return entry.name.endsWith(".yaml") ? [path] : [];
    });
}

function validators(schemas, kinds) {
  // Strict mode looks at our schemas, not at records; the schemas are judged elsewhere.
  const ajv = new Ajv2020({ strict: false, validateFormats: true, allErrors: false });
  addFormats(ajv, { mode: "full", formats: ["date"] });
  const made = new Map();
  for (const kind of kinds) {
    made.set(kind, ajv.compile(JSON.parse(readFileSync(join(schemas, `${kind}.json`), "utf8"))));
  }
  return made;
}

function main(folder, schemas) {
  const files = yamlFiles(folder).map((path) => ({
    path,
    kind: relative(folder, path).split(sep)[0].replace(/\.yaml$/, ""),
  }));
  const start = performance.now();
  const made = validators(schemas, new Set(files.map(({ kind }) => kind)));
  const compiling = (performance.now() - start) / 1000;
  let records = 0;
  let failures = 0;
  for (const { path, kind } of files) {
    // YAML 1.2's core schema: dates stay text, as our schemas want them.
    const data = load(readFileSync(path, "utf8"), { schema: CORE_SCHEMA });
    const validate = made.get(kind);
    if (!validate(data)) {
      failures += 1;
      const [error] = validate.errors;
      console.error(`${path}: ${error.instancePath} ${error.message}`);
    }
    if (kind !== "build") records += Object.keys(data).length;
  }
  console.log(
    JSON.stringify({ files: files.length, records, failures, "compile-seconds": Number(compiling.toFixed(3)) }),
  );
  return failures > 0 ? 1 : 0;
}

const [folder, schemas, ...rest] = process.argv.slice(2);
if (schemas === undefined || rest.length > 0) {
  console.error("usage: node check.mjs FOLDER SCHEMA_FOLDER");
  process.exitCode = 2;
} else {
  process.exitCode = main(folder, schemas);
}

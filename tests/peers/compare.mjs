// Judges the fixtures again with the npm package `ajv`, in its strict mode.
//
//     node compare.mjs FIXTURES_JSON SCHEMA_FOLDER [CHECK_JSON]
//
// FIXTURES_JSON is written by `PARSED_TO=FOLDER cargo test --test fixtures`;
// CHECK_JSON is what `matchmark check --format json` printed. Every schema must be
// a schema of draft 2020-12 and hold up in strict mode, every verdict must be the
// same as ours, and CHECK_JSON what findings.json promises.

import { readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import process from "node:process";
import Ajv2020 from "ajv/dist/2020.js";
import addFormats from "ajv-formats";

const FEWEST = 80;
const DRAFT = "https://json-schema.org/draft/2020-12/schema";

const load = (path) => JSON.parse(readFileSync(path, "utf8"));

// Our own keywords say what a text means; they never refuse one. Only those that
// begin with `x-` are let in, so that strict mode still finds a misspelt keyword.
function ownKeywords(schema, found = new Set()) {
  if (Array.isArray(schema)) {
    for (const item of schema) ownKeywords(item, found);
  } else if (schema !== null && typeof schema === "object") {
    for (const [key, value] of Object.entries(schema)) {
      if (key.startsWith("x-")) found.add(key);
      else ownKeywords(value, found);
    }
  }
  return found;
}

function validators(folder, failures) {
  const schemas = readdirSync(folder)
    .filter((name) => name.endsWith(".json"))
    .sort()
    .map((name) => ({ name, schema: load(join(folder, name)) }));
  const ajv = new Ajv2020({
    strict: true,
    // `anyOf: [{required: [a]}, {required: [b]}]` names keys declared one level up.
    strictRequired: false,
    // One place or a list of them; a count of steps or the steps.
    allowUnionTypes: true,
    validateFormats: true,
    allErrors: true,
  });
  addFormats(ajv, { mode: "full", formats: ["date"] });
  ajv.addVocabulary([...ownKeywords(schemas.map(({ schema }) => schema))]);
  const found = new Map();
  for (const { name, schema } of schemas) {
    try {
      if (schema.$schema !== DRAFT) throw new Error("its $schema is not draft 2020-12");
      if (!ajv.validateSchema(schema)) throw new Error(ajv.errorsText(ajv.errors));
      found.set(name, ajv.compile(schema));
    } catch (error) {
      failures.push(`${name}: no schema: ${error.message}`);
    }
  }
  return found;
}

function reason(validate) {
  const [error] = validate.errors ?? [];
  return error ? `${error.instancePath || "/"}: ${error.message}` : "nothing wrong";
}

function main([fixturesFile, schemaFolder, checkFile, ...rest]) {
  if (!fixturesFile || !schemaFolder || rest.length > 0) {
    console.error("usage: node compare.mjs FIXTURES_JSON SCHEMA_FOLDER [CHECK_JSON]");
    return 1;
  }
  const failures = [];
  const fixtures = load(fixturesFile);
  const schemas = validators(schemaFolder, failures);
  let passed = schemas.size;
  if (!schemas.has("findings.json")) failures.push("findings.json: missing or no schema");

  for (const { file, schema, data, accepted } of fixtures) {
    const validate = schemas.get(schema);
    if (!validate) {
      failures.push(`${file}: no schema ${schema}`);
    } else if (validate(data) === accepted) {
      passed += 1;
    } else {
      const ours = accepted ? "accepted" : "refused";
      failures.push(`${file}: ${ours} by us, here: ${reason(validate)}`);
    }
  }
  if (fixtures.length < FEWEST) {
    failures.push(`only ${fixtures.length} fixtures, of ${FEWEST} at least`);
  }

  const findings = schemas.get("findings.json");
  if (checkFile && findings) {
    if (findings(load(checkFile))) passed += 1;
    else failures.push(`${checkFile}: ${reason(findings)}`);
  }

  for (const failure of failures) console.log(failure);
  console.log(`${passed} passed, ${failures.length} failed`);
  return failures.length > 0 ? 1 : 0;
}

process.exitCode = main(process.argv.slice(2));

import { test } from "node:test";
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { read } from "../js/read.js";

const file = new URL("../../testdata/vectors/read.json", import.meta.url);
const { checks, vectors } = JSON.parse(readFileSync(file, "utf8"));
const byID = new Map(checks.map((check) => [check.id, check]));

for (const { name, check, typed, value, problems } of vectors) {
  test(name, () => {
    assert.deepEqual(read(byID.get(check), typed), { value, problems });
  });
}

test("there are vectors for every kind of check", () => {
  const seen = new Set(vectors.map((vector) => byID.get(vector.check).kind));
  for (const kind of ["choice", "signs", "measure", "repeated", "count", "note", "photo"]) {
    assert.ok(seen.has(kind), kind);
  }
});

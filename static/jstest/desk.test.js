import assert from "node:assert/strict";
import { test } from "node:test";
import { nextRow } from "../js/desk.js";

test("the first press enters the list at its near end", () => {
  assert.equal(nextRow(-1, 1, 5), 0);
  assert.equal(nextRow(-1, -1, 5), 4);
});

test("the keys stop at both ends", () => {
  assert.equal(nextRow(0, -1, 5), 0);
  assert.equal(nextRow(4, 1, 5), 4);
  assert.equal(nextRow(2, 1, 5), 3);
});

test("an empty list has no row", () => {
  assert.equal(nextRow(-1, 1, 0), -1);
});

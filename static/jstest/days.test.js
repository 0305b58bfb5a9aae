import assert from "node:assert/strict";
import test from "node:test";
import { moveSpot } from "../js/days.js";

test("arrows move a visit over the board and stop at its edges", () => {
  const sizes = [0, 2, 1];
  const walk = (/** @type {string[]} */ ...keys) => keys.reduce((at, key) => moveSpot(at, key, sizes, 7), { crew: 1, place: 1, day: 3 });
  assert.deepEqual(walk("ArrowDown"), { crew: 1, place: 2, day: 3 });
  assert.deepEqual(walk("ArrowDown", "ArrowDown", "ArrowDown"), { crew: 1, place: 2, day: 3 });
  assert.deepEqual(walk("ArrowUp", "ArrowUp"), { crew: 1, place: 0, day: 3 });
  assert.deepEqual(walk("ArrowDown", "ArrowRight"), { crew: 2, place: 1, day: 3 });
  assert.deepEqual(walk("ArrowLeft", "ArrowLeft"), { crew: 0, place: 0, day: 3 });
  assert.deepEqual(walk("PageDown", "PageDown", "PageDown", "PageDown"), { crew: 1, place: 1, day: 6 });
  assert.deepEqual(walk("PageUp"), { crew: 1, place: 1, day: 2 });
  assert.deepEqual(walk("x"), { crew: 1, place: 1, day: 3 });
});

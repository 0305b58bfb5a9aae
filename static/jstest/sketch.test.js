import assert from "node:assert/strict";
import test from "node:test";
import { flatArea, perDegree, readCorners, writeCorners } from "../js/sketch.js";

test("corners are read as they are written, and what is none is left out", () => {
  const ring = [[-83, 40], [-82.9996, 40.0002], [-82.9999, 40.0005]];
  assert.deepEqual(readCorners(writeCorners(ring)), ring);
  assert.deepEqual(readCorners("40, -83\nhere\n\n40.0002; -82.9996\n1 2 3"), [[-83, 40], [-82.9996, 40.0002]]);
  assert.deepEqual(readCorners('{"type":"Feature","geometry":{"type":"Polygon","coordinates":[[[1,2],[3,4],[5,6],[1,2]]]}}'), [[1, 2], [3, 4], [5, 6]]);
  assert.deepEqual(readCorners("{"), []);
});

// Area made with GeographicLib (JavaScript geographiclib-geodesic 2.2.0; Karney 2013).
test("the area on the plane is that of the ellipsoid to a millionth", () => {
  const ring = [[-83, 40], [-82.9996, 40.0002], [-82.9999, 40.0005], [-83.0004, 40.0003]];
  assert.ok(Math.abs(flatArea(ring) / 1943.7365 - 1) < 1e-5, String(flatArea(ring)));
  assert.equal(flatArea(ring.slice(0, 2)), 0);
});

// A degree of latitude is 110.574 km at the equator and 111.694 km at a pole, one of longitude 111.320 km at the equator (WGS 84).
test("metres to a degree", () => {
  assert.ok(Math.abs(perDegree(0).north - 110574) < 1 && Math.abs(perDegree(0).east - 111320) < 1 && Math.abs(perDegree(90).north - 111694) < 1);
});

// The area of an edge walked with the phone's position, on the ellipsoid, and how sure it is. The office works it out along
// shortest lines (diagnose/agronomy/area); over a lot of a few hundred feet this agrees within a millionth part, and
// testdata/vectors/agronomy.json holds it to that.

const A = 6378137; // WGS 84, m
const E2 = 0.00669437999014;
const SQFT = 0.3048 * 0.3048;
const rad = (/** @type {number} */ d) => d * Math.PI / 180;

// A phone says within what distance it is right nineteen times out of twenty; on each axis that is so many times less.
const PER_AXIS = Math.sqrt(-2 * Math.log(0.05));
// Fixes close together err together: more corners than this make nothing surer. Our own judgement.
const APART = 12;

/** @typedef {{lat: number, lon: number, accuracy: number}} Fix */

/** The corners on a plane about their middle, in m. @param {Fix[]} fixes @returns {[number, number][]} */
function flat(fixes) {
  const lat = fixes.reduce((s, f) => s + f.lat, 0) / fixes.length;
  const w = Math.sqrt(1 - E2 * Math.sin(rad(lat)) ** 2);
  const north = A * (1 - E2) / w ** 3, east = A / w * Math.cos(rad(lat));
  return fixes.map((f) => [rad(f.lon - fixes[0].lon) * east, rad(f.lat - fixes[0].lat) * north]);
}

/** Whether two sides of the ring cross. @param {[number, number][]} p */
export function crosses(p) {
  const n = p.length;
  const side = (a, b, c) => Math.sign((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]));
  for (let i = 0; i < n; i++) {
    for (let j = i + 2; j < n; j++) {
      if (i === 0 && j === n - 1) continue;
      const [a, b, c, d] = [p[i], p[i + 1], p[j], p[(j + 1) % n]];
      if (side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0) return true;
    }
  }
  return false;
}

/** Metres between two fixes. @param {Fix} a @param {Fix} b */
export function apart(a, b) {
  const [, [x, y]] = flat([a, b]);
  return Math.hypot(x, y);
}

/** Square feet of the ring and one standard deviation of it; null for fewer than three corners or a ring that crosses itself. @param {Fix[]} fixes */
export function walked(fixes) {
  if (fixes.length < 3) return null;
  const p = flat(fixes), n = p.length;
  if (crosses(p)) return null;
  let twice = 0, squares = 0;
  for (let i = 0; i < n; i++) {
    const next = p[(i + 1) % n], before = p[(i + n - 1) % n];
    twice += p[i][0] * next[1] - next[0] * p[i][1];
    squares += (next[0] - before[0]) ** 2 + (next[1] - before[1]) ** 2;
  }
  const sigma = Math.sqrt(fixes.reduce((s, f) => s + f.accuracy ** 2, 0) / n) / PER_AXIS;
  return { area: Math.abs(twice) / 2 / SQFT, sd: sigma / 2 * Math.sqrt(squares) * Math.sqrt(Math.max(1, n / APART)) / SQFT, sigma };
}

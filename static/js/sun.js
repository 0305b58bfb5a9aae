// Hours of direct sun on a spot behind houses and trees, for any day. The office works them out in the same way
// (diagnose/agronomy/sun, after Meeus); testdata/vectors/agronomy.json holds both to each other.

const DELTA_T = 69; // seconds between terrestrial and universal time, about now
const MINUTE = 60_000;
const DAY = 86_400_000;
const STEP = 30_000;

/** @param {number} d */
const rad = (d) => d * Math.PI / 180;
/** @param {number} r */
const deg = (r) => r * 180 / Math.PI;

/** The Julian day of a moment in ms. @param {number} ms */
const julian = (ms) => 2440587.5 + ms / DAY;

/** x less the nearest multiple of y. @param {number} x @param {number} y */
const remainder = (x, y) => x - y * Math.round(x / y);

/** Declination (degrees) and equation of time (minutes) for a Julian day of terrestrial time. @param {number} jd */
function skyAt(jd) {
  const t = (jd - 2451545) / 36525;
  const l0 = 280.46646 + 36000.76983 * t + 0.0003032 * t * t;
  const m = rad(357.52911 + 35999.05029 * t - 0.0001537 * t * t);
  const centre = (1.914602 - 0.004817 * t) * Math.sin(m) + (0.019993 - 0.000101 * t) * Math.sin(2 * m) + 0.000289 * Math.sin(3 * m);
  const node = rad(125.04 - 1934.136 * t);
  const lambda = rad(l0 + centre - 0.00569 - 0.00478 * Math.sin(node));
  const tilt = rad(23.43929 - 0.01300 * t + 0.00256 * Math.cos(node));
  const ascension = Math.atan2(Math.cos(tilt) * Math.sin(lambda), Math.cos(lambda));
  const nutation = -0.00478 * Math.sin(node) * Math.cos(tilt);
  const equation = remainder(l0 - 0.0057183 - deg(ascension) + nutation, 360);
  return { declination: deg(Math.asin(Math.sin(tilt) * Math.sin(lambda))), equation: 4 * equation };
}

/** Where the sun stands at a minute of the universal day. */
function seenFrom({ declination, equation }, minute, { latitude, longitude }) {
  const hour = rad(remainder((minute + equation + 4 * longitude) / 4 - 180, 360));
  const lat = rad(latitude), d = rad(declination);
  const sine = Math.sin(lat) * Math.sin(d) + Math.cos(lat) * Math.cos(d) * Math.cos(hour);
  const azimuth = (deg(Math.atan2(Math.sin(hour), Math.cos(hour) * Math.sin(lat) - Math.tan(d) * Math.cos(lat))) + 540) % 360;
  return { elevation: deg(Math.asin(Math.max(-1, Math.min(1, sine)))), azimuth };
}

/** The moment of noon by the sun, of a day. */
function noonOf(year, month, day, { longitude }) {
  const base = Date.UTC(year, month - 1, day, 12) - longitude / 15 * 60 * MINUTE;
  let noon = base;
  for (let i = 0; i < 3; i++) noon = base - skyAt(julian(noon) + DELTA_T / 86400).equation * MINUTE;
  return noon;
}

/**
 * A house, a fence or a crown as seen from the spot: between two azimuths (from north, clockwise; from above to runs
 * through north) it hides the sun below an elevation. A crown that loses its leaves does so from leafFrom to leafTo only
 * (month × 100 + day, 0 for all year).
 * @typedef {{from: number, to: number, elevation: number, leafFrom?: number, leafTo?: number}} Obstruction
 */

/** @param {Obstruction} o @param {{elevation: number, azimuth: number}} p @param {number} day */
function hides(o, p, day) {
  if (p.elevation >= o.elevation || !inLeaf(o, day)) return false;
  return o.from <= o.to ? p.azimuth >= o.from && p.azimuth <= o.to : p.azimuth >= o.from || p.azimuth <= o.to;
}

function inLeaf({ leafFrom = 0, leafTo = 0 }, day) {
  if (leafFrom === 0 || leafTo === 0) return true;
  return leafFrom <= leafTo ? day >= leafFrom && day <= leafTo : day >= leafFrom || day <= leafTo;
}

/**
 * Hours the sun's centre is up and not hidden, and up at all, summed over the solar day in steps of half a minute.
 * @param {string} date  2026-06-21 @param {{latitude: number, longitude: number}} place @param {Obstruction[]} obstructions
 */
export function directSun(date, place, obstructions) {
  const [year, month, day] = date.split('-').map(Number);
  const start = noonOf(year, month, day, place) - DAY / 2;
  const jd = julian(start);
  const first = skyAt(jd + DELTA_T / 86400), last = skyAt(jd + 1 + DELTA_T / 86400);
  const n = DAY / STEP;
  let direct = 0, daylight = 0, morning = 0;
  for (let i = 0; i < n; i++) {
    const share = (i + 0.5) / n;
    const sky = { declination: first.declination + share * (last.declination - first.declination), equation: first.equation + share * (last.equation - first.equation) };
    const p = seenFrom(sky, (jd - 0.5 + share) % 1 * 1440, place);
    if (!(p.elevation > 0)) continue;
    daylight++;
    if (obstructions.some((o) => hides(o, p, month * 100 + day))) continue;
    direct++;
    if (i < n / 2) morning++;
  }
  const hours = STEP / 3_600_000;
  return { direct: direct * hours, daylight: daylight * hours, morning: morning * hours };
}

/** How high something stands before the eye, in degrees, from heights and distance in one unit. */
export const elevationOf = (height, eye, distance) => deg(Math.atan2(height - eye, distance));

/** What grass makes of so many hours. @param {number} hours @returns {'little'|'thin'|'vigorous'} */
export function lightClass(hours) {
  if (hours < 4) return 'little';
  return hours < 6 ? 'thin' : 'vigorous';
}

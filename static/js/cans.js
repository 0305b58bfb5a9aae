// Catch cans: uniformity, rate and run times. The office works them out in the same way (diagnose/agronomy/irrigation);
// testdata/vectors/agronomy.json holds both to each other.

/** What soils take in (in an hour) and what may stand on them by slope (in), by texture. */
export const GROUND = {
  clay: [0.10, [0.20, 0.15, 0.10, 0.10]],
  'silty clay': [0.15, [0.23, 0.19, 0.16, 0.13]],
  'clay loam': [0.20, [0.26, 0.22, 0.18, 0.15]],
  loam: [0.35, [0.30, 0.25, 0.21, 0.17]],
  'sandy loam': [0.40, [0.33, 0.29, 0.24, 0.20]],
  'loamy sand': [0.50, [0.36, 0.30, 0.26, 0.22]],
  sand: [0.60, [0.40, 0.35, 0.30, 0.25]],
};

/** The slopes of the table, gentlest first. */
export const SLOPES = ['0-3 %', '4-6 %', '7-12 %', '13 % +'];

/** @param {number[]} list */
const mean = (list) => list.reduce((sum, v) => sum + v, 0) / list.length;

/** The mean of the lowest share of a list, and how many that is: rounded half up, at least one. @param {number[]} list @param {number} share */
export function low(list, share) {
  const sorted = [...list].sort((a, b) => a - b);
  const n = Math.max(1, Math.floor(list.length * share + 0.5));
  return { mean: mean(sorted.slice(0, n)), n };
}

/** What the cans say; null when there is nothing to divide by. @param {number[]} catches  of equal cans, in any unit */
export function audit(catches) {
  const all = catches.length > 0 ? mean(catches) : 0;
  if (!(all > 0)) return null;
  const quarter = low(catches, 0.25), half = low(catches, 0.5);
  const off = catches.reduce((sum, v) => sum + Math.abs(v - all), 0);
  return {
    mean: all, lowCount: quarter.n, lowMean: quarter.mean, quarter: quarter.mean / all, half: half.mean / all,
    christiansen: 1 - off / (catches.length * all), multiplier: half.mean > 0 ? all / half.mean : null,
  };
}

/** Inches an hour from a mean depth in mm. */
export const rateOfDepth = (mm, minutes) => 60 * mm / minutes / 25.4;

/** Inches an hour from a mean volume in mL and a mouth in cm². */
export const rateOfVolume = (ml, cm2, minutes) => 600 * ml / (cm2 * minutes) / 25.4;

/** The mouth of a round can, cm². @param {number} cm  its diameter */
export const mouth = (cm) => Math.PI * cm * cm / 4;

/** Minutes that give the drier half enough: by the mean rate, times the multiplier. @param {number} inches @param {number} rate @param {number} multiplier */
export const runTime = (inches, rate, multiplier) => 60 * inches / rate * multiplier;

/**
 * A run time in equal cycles none of which runs off.
 * @param {number} rate in/h @param {string} texture @param {number} slope  which of SLOPES @param {number} total minutes
 */
export function cycles(rate, texture, slope, total) {
  const [intake, storage] = GROUND[texture];
  if (!(rate > intake * (1 + 1e-12))) return { limited: false, count: 1, each: total, soak: 0 };
  const longest = 60 * storage[slope] / (rate - intake);
  const count = Math.max(1, Math.ceil(total / longest - 1e-9));
  return { limited: true, count, each: total / count, soak: 60 * storage[slope] / intake, longest };
}

/** A clock takes whole minutes: runs that give at least the total, none of them longer than may be. @param {ReturnType<typeof cycles>} c @param {number} total */
export function wholeMinutes({ count, longest = Infinity }, total) {
  let n = count;
  const short = Math.max(1, Math.floor(longest));
  while (Math.ceil(total / n - 1e-9) > short) n++;
  const each = Math.ceil(total / n - 1e-9);
  return { count: n, each, total: n * each };
}

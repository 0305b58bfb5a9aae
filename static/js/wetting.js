// How deep water wets soil. The office works it out in the same way (diagnose/agronomy/soilwater);
// testdata/vectors/agronomy.json holds both to each other.

/** Water that soils hold for plants, inches in a foot, least and most, by texture. @type {Record<string, [number, number]>} */
export const HOLDS = {
  sand: [0.75, 1.25], 'loamy sand': [0.75, 1.25], 'sandy loam': [1.25, 1.75], loam: [1.5, 2.3], 'silt loam': [1.5, 2.3], 'clay loam': [1.75, 2.5], clay: [1.6, 2.5],
};

/** Inches wetted by inches of water. @param {number} water @param {number} held in a foot @param {number} dried share of it used up before */
export const wettingDepth = (water, held, dried) => water / (held / 12 * dried);

/**
 * The last spell of rain: the newest wet day and those before it without a dry day between.
 * @param {{day: string, mm: number}[]} days  wet days, oldest first
 * @returns {{inches: number, day: string} | null}  day is the last of it
 */
export function lastRain(days) {
  const last = days.at(-1);
  if (!last) return null;
  let mm = 0, day = last.day;
  for (const d of [...days].reverse()) {
    if (Date.parse(day) - Date.parse(d.day) > 86_400_000) break;
    mm += d.mm;
    day = d.day;
  }
  return { inches: mm / 25.4, day: last.day };
}

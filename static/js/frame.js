// Counts in a frame, and cover from points met on a walk. The office works them out in the same way
// (diagnose/agronomy/sampling for the points); testdata/vectors/agronomy.json holds both to each other.

/** Square feet of what counts are given for. */
export const PER = { sqft: 1, sqyd: 9 };

/** Frames that are at hand: square inches each. */
export const FRAMES = { foot: 144, can: Math.PI * 9, cup: Math.PI * 4.25 * 4.25 / 4 };

/** A count in a frame, per area. @param {number} count @param {number} squareInches @param {keyof typeof PER} per */
export const perArea = (count, squareInches, per) => count * 144 * PER[per] / squareInches;

const Z = 1.959963984540054; // nineteen times out of twenty

/** Share of points that hit, and between what it lies nineteen times out of twenty (Wilson 1927). @param {number} hits @param {number} all */
export function cover(hits, all) {
  const p = hits / all, z2 = Z * Z;
  const middle = (p + z2 / (2 * all)) / (1 + z2 / all);
  const half = Z / (1 + z2 / all) * Math.sqrt(p * (1 - p) / all + z2 / (4 * all * all));
  return { share: p, low: Math.max(0, middle - half), high: Math.min(1, middle + half) };
}

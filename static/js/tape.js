// Areas by tape: the office works them out in the same way (diagnose/agronomy/area); testdata/vectors/agronomy.json holds
// both to each other.

/**
 * What is taped for each shape, in order, and its area from that in the square of the tape's unit. NaN: these lengths do
 * not make the shape.
 * @type {Record<string, {lengths: string[], area: (...lengths: any[]) => number}>}
 */
export const SHAPES = {
  rectangle: { lengths: ['length', 'width'], area: (a, b) => a * b },
  triangle: { lengths: ['side', 'side', 'side'], area: heron },
  trapezoid: { lengths: ['parallel', 'parallel', 'between'], area: (a, b, h) => (a + b) / 2 * h },
  circle: { lengths: ['across'], area: (d) => Math.PI * d * d / 4 },
  offsets: { lengths: ['interval', 'list'], area: byOffsets },
};

/** Between a straight line and a border: offsets taken at equal steps. NaN with fewer than two. @param {number} step @param {number[]} list */
function byOffsets(step, list) {
  if (list.length < 2) return NaN;
  return step * ((list[0] + list[list.length - 1]) / 2 + list.slice(1, -1).reduce((sum, v) => sum + v, 0));
}

/** A triangle by its sides; NaN when they can't close. */
function heron(a, b, c) {
  const h = (a + b + c) / 2;
  return Math.max(a, b, c) < h ? Math.sqrt(h * (h - a) * (h - b) * (h - c)) : NaN;
}

/** Lawn less beds and drives; NaN when more is taken off than there is. @param {{area: number, off: boolean}[]} pieces */
export function lawn(pieces) {
  const all = pieces.reduce((sum, p) => sum + (p.off ? -p.area : p.area), 0);
  return all < 0 ? NaN : all;
}

// An area as a person types it: in the firm's unit, or with its own behind it.

import { crew } from './units.js';

const LONGEST = 40; // characters

/**
 * Square feet as typed; a comma parts thousands here, since nobody measures a lawn to a fraction of a foot.
 * @param {string} text @param {boolean} [metric] the firm's units: a number alone is in square metres
 */
export function readArea(text, metric = false) {
  if (String(text).length > LONGEST) return NaN;
  const plain = String(text).replace(/[\s\u00a0\u202f]/g, '').toLowerCase();
  const m = /^(\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+(?:\.\d+)?)(sqft|ft2|ft²|pies²|m2|m²|sqm)?$/.exec(plain);
  if (!m) return NaN;
  const metres = m[2] ? /m/.test(m[2]) : metric;
  const n = crew(Number(m[1].replaceAll(',', '')), metres ? 'm2' : 'ft2', false).value;
  return n > 0 && n < 10_000_000 ? n : NaN;
}

/** An area in the firm's unit, as text for an input. @param {number} sqft @param {boolean} metric */
export function areaText(sqft, metric) {
  return sqft > 0 ? String(Math.round(crew(sqft, 'ft2', metric).value)) : '';
}

// How far the evidence of a zone goes: enough to tell, or what is missing; and which zone of a visit is thinnest in it.

// A check that is expected to clear less than this many bits of doubt about what to do first is not worth a walk, and a
// handful of findings is the least that a judgement stands on. Both are our own judgement.
const WORTH = 0.1;
const LEAST = 5;
const NAMED = 3;

/**
 * @typedef {object} Standing
 * @property {boolean} enough
 * @property {string[]} missing  undone checks worth their time, best first
 * @property {number} open       how many bits the three that would tell most are expected to clear
 */

/** @param {any} answer  of the engine @returns {Standing} */
export function standing(answer) {
  const next = answer.next ?? [];
  const worth = next.filter((/** @type {any} */ n) => n.gain >= WORTH);
  const enough = worth.length === 0 && answer.counted >= LEAST;
  const named = worth.length > 0 ? worth : next.filter((/** @type {any} */ n) => n.gain > 0);
  const gains = next.map((/** @type {any} */ n) => n.gain).sort((/** @type {number} */ a, /** @type {number} */ b) => b - a);
  return { enough, missing: enough ? [] : named.slice(0, NAMED).map((/** @type {any} */ n) => n.check), open: gains.slice(0, NAMED).reduce((/** @type {number} */ s, /** @type {number} */ g) => s + g, 0) };
}

/**
 * The zone with most left open; null when all have enough or there is nothing to compare.
 * @param {{zone: string, answer: any}[]} zones
 */
export function thinnest(zones) {
  const open = zones.map((z) => ({ zone: z.zone, counted: z.answer.counted, ...standing(z.answer) })).filter((z) => !z.enough);
  if (zones.length < 2 || open.length === 0) return null;
  return open.reduce((most, z) => (z.open > most.open + 1e-9 ? z : most));
}

// The zones of one property together: what is likely where, and what is said once because the zones share what brings it.

import {falling} from './diagnose_rank.js';

/** The zones' shares of the area; one not known weighs as much as the mean of the others. @param {{area: number}[]} zones */
function areasOf(zones) {
  const known = zones.filter((z) => z.area > 0);
  let sum = 0;
  for (const z of known) sum += z.area;
  const usual = known.length > 0 ? sum / known.length : 1;
  const areas = zones.map((z) => (z.area > 0 ? z.area : usual));
  let whole = 0;
  for (const a of areas) whole += a;
  return areas.map((a) => a * (1 / whole));
}

/**
 * Every cause that is likely in a zone: those said once first, then by likelihood (mean by area) × severity. Zones without a
 * finding that counts are left out of the means.
 * @param {any} bundle
 * @param {Map<string, number>} causes
 * @param {{zone: string, area: number, answer: import('./diagnose.js').Answer}[]} zones
 */
export function property(bundle, causes, zones) {
  const looked = zones.filter((z) => z.answer.causes.length > 0 && z.answer.counted > 0);
  const areas = areasOf(looked);
  const out = [];
  for (const c of bundle.causes) {
    const p = {id: c.id, likelihood: 0, zones: /** @type {string[]} */ ([]), shared: c.shared ?? '', once: false};
    looked.forEach((z, k) => {
      const l = z.answer.causes.find((x) => x.id === c.id);
      if (!l) return;
      p.likelihood += areas[k] * l.likelihood;
      if (l.role) p.zones.push(z.zone);
    });
    p.once = p.shared !== '' && p.zones.length > 1;
    if (p.zones.length > 0) out.push(p);
  }
  const severity = (/** @type {string} */ id) => bundle.causes[/** @type {number} */ (causes.get(id))].severity;
  return out.sort((a, b) => Number(b.once) - Number(a.once) || falling(a.likelihood * severity(a.id), b.likelihood * severity(b.id)));
}

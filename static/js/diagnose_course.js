// What went before in a zone: what the last visit left of each cause, and steps taken since. See diagnose.js.

import {InputError} from './diagnose_evidence.js';

/** @typedef {import('./diagnose.js').Case} Case */

/** @param {any} x */
const days = (x) => typeof x === 'number' && x >= 0 && Number.isFinite(x);

/** Refuses what can't be meant. @param {any} bundle @param {Map<string, number>} causes @param {Case} c */
export function readCourse(bundle, causes, c) {
  const seen = new Set();
  for (const b of c.before ?? []) {
    if (!causes.has(b.cause)) throw new InputError('unknown_cause', '', `there is no cause ${b.cause} to have been likely before`);
    if (seen.has(b.cause)) throw new InputError('twice', '', `${b.cause} was likely before, said twice`);
    if (!(b.likelihood >= 0 && b.likelihood <= 1)) throw new InputError('bad_number', '', `the earlier likelihood of ${b.cause} lies between 0 and 1`);
    if (!days(b.days)) throw new InputError('bad_number', '', `the days since ${b.cause} was likely are 0 or more`);
    seen.add(b.cause);
  }
  for (const d of c.done ?? []) {
    if (!bundle.actions.some((/** @type {any} */ a) => a.id === d.action)) throw new InputError('unknown_action', '', `there is no step ${d.action} to have been taken`);
    if (!days(d.days)) throw new InputError('bad_number', '', `the days since ${d.action} are 0 or more`);
  }
}

/**
 * Changes rates by what went before. A cause begins with what the last visit left, drawn back to its base rate as time goes
 * by; steps taken since leave their share of it. Of a step taken before the last visit only what it has done since counts.
 * @param {any} bundle
 * @param {Map<string, number>} causes
 * @param {Case} c
 * @param {number[]} rates
 */
export function course(bundle, causes, c, rates) {
  const before = c.before ?? [];
  let since = 0;
  for (const b of before) {
    const i = /** @type {number} */ (causes.get(b.cause));
    const lasts = bundle.causes[i].lasts;
    if (lasts > 0) rates[i] += (b.likelihood - rates[i]) * Math.exp(-b.days / lasts);
    since = Math.max(since, b.days);
  }
  for (const d of c.done ?? []) {
    for (const f of bundle.effects ?? []) {
      if (f.action !== d.action) continue;
      let left = 1 - (1 - f.left) * Math.min(d.days / f.days, 1);
      if (before.length > 0 && d.days > since) left /= 1 - (1 - f.left) * Math.min((d.days - since) / f.days, 1);
      rates[/** @type {number} */ (causes.get(f.cause))] *= left;
    }
  }
}

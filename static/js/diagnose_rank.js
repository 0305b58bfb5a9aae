// What speaks for and against each cause, their roles and reading order, and the verdict. See diagnose.js.

import {YES} from './diagnose_model.js';

/** @typedef {import('./diagnose.js').Likelihood} Likelihood */

const DOUBT = 1e-6; // nothing seen in a lawn is surer than one in a million
const NEGLIGIBLE = -40; // how far below the likeliest set a logarithm may lie and still be worth an exponential
const SLIGHT = 0.01; // the least change of log-odds that is worth telling

/** Steps of a billionth: orders compare these, so that the last bits of a sum decide nothing. @param {number} x */
export const grid = (x) => Math.floor(x * 1e9 + 0.5);

/** Larger first; equal ones stay as they stand. @param {number} a @param {number} b */
export const falling = (a, b) => grid(b) - grid(a);

/** @param {number} p */
function logOdds(p) {
  const x = Math.min(Math.max(p, DOUBT), 1 - DOUBT);
  return Math.log(x) - Math.log1p(-x);
}

/** The state to name: what the piece shows, or of several signs the one that speaks loudest in this direction. */
function shownFor(/** @type {any} */ ix, /** @type {any} */ p, /** @type {number} */ cause,
  /** @type {any} */ vars, /** @type {boolean} */ speaksFor) {
  const f = ix.bundle.findings[p.finding];
  if (p.shown >= 0) return f.states[p.shown].id;
  if (p.present.length === 0) return ix.none.get(f.id) ?? '';
  let best = p.present[0], loudest = -Infinity;
  for (const s of p.present) {
    const given = vars[s].given[cause];
    if (!given) continue;
    const more = given[YES] - vars[s].base[YES];
    const loud = speaksFor ? more : -more;
    if (loud > loudest) { best = s; loudest = loud; }
  }
  return f.states[best].id;
}

/**
 * Every cause in catalogue order with the change of its log-odds when one finding is left out.
 * @param {any} ix
 * @param {any} w
 * @param {(k: number) => Float64Array} without
 * @param {(at: number) => any} variables
 * @returns {Likelihood[]}
 */
export function explain(ix, w, without, variables) {
  /** @type {Likelihood[]} */
  const out = ix.bundle.causes.map((/** @type {any} */ c, /** @type {number} */ i) => ({
    id: c.id, likelihood: w.like[i], carried: 0, role: '', driven_by: [], for: [], against: []}));
  w.counted.forEach((/** @type {any} */ p, /** @type {number} */ k) => {
    const left = without(k);
    const finding = ix.bundle.findings[p.finding].id;
    out.forEach((l, c) => {
      const change = logOdds(w.like[c]) - logOdds(left[c]);
      if (Math.abs(change) < SLIGHT) return;
      const state = shownFor(ix, p, c, variables(p.finding), change > 0);
      (change > 0 ? l.for : l.against).push({finding, state, weight: Math.abs(change)});
    });
  });
  for (const l of out) {
    l.for.sort((a, b) => falling(a.weight, b.weight));
    l.against.sort((a, b) => falling(a.weight, b.weight));
  }
  return out;
}

/** @param {any} ix @param {number} p */
const likely = (ix, p) => grid(p) >= grid(ix.bundle.settings.likely);

/** Whether a driver of consequence c is at least half as likely as c. @param {any} ix @param {Likelihood[]} all @param {number} c */
const halfDriven = (ix, all, c) => ix.links.some((/** @type {any} */ l) =>
  l.child === c && grid(all[l.parent].likelihood) >= grid(all[c].likelihood / 2));

/**
 * Sets role and driven_by. A parent drives a child here when it is active in at least half of what makes the child likely,
 * and would make it likely alone; but what is only ever a consequence has every parent for its reason.
 * @param {any} ix
 * @param {Likelihood[]} all
 * @param {(a: number, b: number) => number} together posterior that both are active
 */
function giveRoles(ix, all, together) {
  const count = all.filter((l) => likely(ix, l.likelihood)).length;
  all.forEach((l, i) => {
    if (!likely(ix, l.likelihood)) return;
    l.driven_by = ix.links.filter((/** @type {any} */ k) => k.child === i && likely(ix, all[k.parent].likelihood) &&
      (ix.bundle.causes[i].consequence || likely(ix, k.p)) && grid(together(k.parent, i)) >= grid(l.likelihood / 2))
      .map((/** @type {any} */ k) => all[k.parent].id);
    let driven = l.driven_by.length > 0;
    if (ix.bundle.causes[i].consequence) driven = count > 1 || halfDriven(ix, all, i);
    l.role = driven ? 'secondary' : 'primary';
  });
}

/** Whether cause i, not likely itself, drives a likely consequence and is at least half as likely. */
const underlies = (/** @type {any} */ ix, /** @type {Likelihood[]} */ all, /** @type {number} */ i) =>
  ix.links.some((/** @type {any} */ l) => l.parent === i && all[l.child].role === 'secondary' &&
    all[l.child].driven_by.length === 0 && ix.bundle.causes[l.child].consequence &&
    grid(all[i].likelihood) >= grid(all[l.child].likelihood / 2));

/** The class of a cause in reading order. @param {any} ix @param {Likelihood[]} all @param {number} i */
function classOf(ix, all, i) {
  const named = grid(all[i].likelihood) >= grid(ix.bundle.settings.cant_tell);
  if (all[i].role === 'primary') return ix.mute[i] ? 2 : named ? 0 : 1;
  if (all[i].role === 'secondary') return 4;
  return underlies(ix, all, i) ? 3 : 5;
}

/**
 * The order in which a person should read the causes. all is in catalogue order and gets its roles.
 * @param {any} ix
 * @param {Likelihood[]} all
 * @param {(a: number, b: number) => number} together
 */
export function rank(ix, all, together) {
  giveRoles(ix, all, together);
  const kind = all.map((_, i) => classOf(ix, all, i));
  const worth = all.map((l, i) => (kind[i] <= 2 ? l.likelihood * ix.bundle.causes[i].severity : l.likelihood));
  return all.map((_, i) => i).sort((a, b) => kind[a] - kind[b] || falling(worth[a], worth[b])).map((i) => all[i]);
}

/**
 * What the answer comes to. Without a finding that counts nothing can be told, not even that all is well.
 * @param {any} ix
 * @param {Likelihood[]} causes
 * @param {number} nothing
 * @param {number} counted
 * @param {(c: number) => boolean} strong whether what was found speaks strongly for a cause
 */
export function verdict(ix, causes, nothing, counted, strong) {
  if (counted === 0 || causes.length === 0) return 'cant_tell';
  const beats = causes.every((l) => nothing > l.likelihood);
  if (beats && (nothing >= 0.5 || !causes.some((l) => likely(ix, l.likelihood)))) return 'nothing_wrong';
  const first = ix.causes.get(causes[0].id), p = grid(causes[0].likelihood);
  // That there are weeds in thin turf is seen; why is not known yet.
  if (ix.bundle.causes[first].consequence || p < grid(ix.bundle.settings.cant_tell)) return 'cant_tell';
  // Common and no more than that: two glances don't make it the cause.
  return p < grid(ix.bundle.settings.sure ?? 0) && !strong(first) ? 'cant_tell' : 'cause';
}

/**
 * What cause c weighs before anything was found, and what all sets without it weigh.
 * @param {any} sets
 * @param {Float64Array} before logarithm of every set's chance before anything was found
 * @param {number} c
 */
export function oddsBefore(sets, before, c) {
  let top = -Infinity;
  for (let i = 0; i < before.length; i++) if (before[i] > top) top = before[i];
  let held = 0, free = 0;
  for (let i = 0; i < sets.count; i++) {
    const l = before[i] - top;
    if (l < NEGLIGIBLE) continue;
    let has = false;
    for (let m = sets.start[i]; m < sets.start[i + 1]; m++) has ||= sets.members[m] === c;
    if (has) held += Math.exp(l); else free += Math.exp(l);
  }
  return {held, free};
}

/**
 * Whether what was found multiplied the odds of a cause by the setting strong, against what was thought before.
 * @param {any} ix
 * @param {{held: number, free: number}} odds before
 * @param {number} now the cause's likelihood
 */
export const strong = (ix, {held, free}, now) => grid(now * free) >= grid(ix.bundle.settings.strong * (1 - now) * held);

// What a case says, read against the bundle: observations become pieces of evidence, and rules of context set some of
// them aside. See diagnose.js.

import {erf, erfc} from './erf.js';
import {YES, NO} from './diagnose_model.js';

/**
 * Evidence of one finding. parts: a certain state (0 and up), or -1 and the chance of what was measured under each state.
 * shown: the state it shows, of a number the likeliest, -1 for signs. present: signs that are there.
 * @typedef {{at: number, state: number, weight: number[]}} Part
 * @typedef {{finding: number, parts: Part[], shown: number, present: number[]}} Piece
 */

/** A case that can't be weighed because of what it says. */
export class InputError extends Error {
  /** @param {string} kind @param {string} finding @param {string} say */
  constructor(kind, finding, say) {
    super(finding ? `${finding}: ${say}` : say);
    this.kind = kind;
    this.finding = finding;
  }
}

/** Findings that can't all be true at once. */
export class Contradiction extends Error {
  /** @param {string[]} findings */
  constructor(findings) {
    super(findings.length === 1 ? `${findings[0]} can't be true as it stands`
      : `${findings.join(' and ')} can't all be true at once`);
    this.findings = findings;
  }
}

/** A difference in standard errors; without an error a limit is infinitely far. @param {number} difference @param {number} sigma */
function steps(difference, sigma) {
  if (sigma > 0) return difference / sigma;
  return difference > 0 ? Infinity : -Infinity;
}

/**
 * The chance that a standard normal variable lies in [low, high), each tail taken on its own side of the mean.
 * @param {number} low
 * @param {number} high
 */
export function between(low, high) {
  const a = low / Math.SQRT2, b = high / Math.SQRT2;
  if (a > 0) return (erfc(a) - erfc(b)) / 2;
  if (b < 0) return (erfc(-b) - erfc(-a)) / 2;
  return (erf(b) - erf(a)) / 2;
}

/** @param {any} f @param {string} id */
export const stateOf = (f, id) => f.states.findIndex((/** @type {any} */ s) => s.id === id);

/** The bands that hold beside what else was observed. @param {any} f @param {any[]} observed @returns {any[]} */
function bandsWith(f, observed) {
  const by = (f.bands_by ?? []).find((/** @type {any} */ b) => {
    const state = observed.find((o) => o.finding === b.other)?.state;
    return state && b.other_states.includes(state);
  });
  return by ? by.bands : f.bands;
}

/**
 * The chance of each state of a measured finding, and the likeliest.
 * @param {any} f
 * @param {any[]} bands
 * @param {number} mean
 * @param {number} sd
 * @param {number} n
 */
export function spread(f, bands, mean, sd, n) {
  // The error of the measurement is that at the limit: one in proportion grows with the true value, not with what was read.
  const away = (/** @type {number} */ limit) => {
    const known = (f.err_abs ?? 0) + (f.err_rel ?? 0) * Math.abs(limit);
    return steps(limit - mean, Math.sqrt(sd * sd / n + known * known));
  };
  const weight = f.states.map(() => 0);
  bands.forEach((band, i) => {
    weight[stateOf(f, band.state)] = between(i === 0 ? -Infinity : away(band.low), i === bands.length - 1 ? Infinity : away(band.high));
  });
  let best = 0;
  weight.forEach((/** @type {number} */ w, /** @type {number} */ s) => { if (w > weight[best]) best = s; });
  return {weight, best};
}

/** @param {any} bundle @param {string} finding @param {string|undefined} id */
function unitOf(bundle, finding, id) {
  if (!id) return {mul: 1, div: 1};
  for (const c of bundle.checks) {
    if (!(c.yields ?? []).some((/** @type {any} */ y) => y.finding === finding)) continue;
    const u = (c.units ?? []).find((/** @type {any} */ x) => x.id === id && x.div !== 0);
    if (u) return u;
  }
  throw new InputError('unknown_unit', finding, `is not measured in "${id}"`);
}

/** @param {any} bundle @param {any} f @param {number} at @param {any} n @param {any[]} observed @returns {Piece} */
function readNumber(bundle, f, at, n, observed) {
  if (!f.bands?.length) throw new InputError('wrong_form', f.id, 'is not a number; name one of its states');
  const unit = unitOf(bundle, f.id, n.unit);
  const mean = n.mean * unit.mul / unit.div, sd = (n.sd ?? 0) * unit.mul / unit.div;
  if (!Number.isFinite(mean) || !Number.isFinite(sd)) throw new InputError('bad_number', f.id, 'is not a finite number');
  if (mean < 0 || sd < 0) throw new InputError('bad_number', f.id, "can't be negative");
  if (!(n.n >= 1)) throw new InputError('bad_number', f.id, 'needs at least one measurement');
  const {weight, best} = spread(f, bandsWith(f, observed), mean, sd, n.n);
  return {finding: at, shown: best, present: [], parts: [{at: 0, state: -1, weight}]};
}

/** @param {any} f @param {number} at @param {string[]} present @param {string[]} absent @param {string} none @returns {Piece} */
function readSigns(f, at, present, absent, none) {
  const said = f.states.map(() => -1);
  if (none && present.length === 1 && present[0] === none && absent.length === 0) {
    f.states.forEach((/** @type {any} */ s, /** @type {number} */ i) => { if (s.id !== none) said[i] = NO; });
  } else {
    [present, absent].forEach((ids, answer) => ids.forEach((id) => {
      const s = stateOf(f, id);
      if (s < 0 || id === none) throw new InputError('unknown_state', f.id, `there is no sign "${id}" to name here`);
      if (said[s] !== -1) throw new InputError('twice', f.id, `sign ${id} said twice`);
      said[s] = answer;
    }));
  }
  /** @type {Piece} */
  const piece = {finding: at, shown: -1, present: [], parts: []};
  said.forEach((/** @type {number} */ answer, /** @type {number} */ s) => {
    if (answer === -1) return;
    piece.parts.push({at: s, state: answer, weight: []});
    if (answer === YES) piece.present.push(s);
  });
  return piece;
}

/** @param {any} bundle @param {any} f @param {number} at @param {any} o @param {any[]} observed @param {string} none @returns {Piece} */
function readOne(bundle, f, at, o, observed, none) {
  const present = o.present ?? [], absent = o.absent ?? [];
  const signs = present.length > 0 || absent.length > 0;
  const forms = (o.state ? 1 : 0) + (o.number ? 1 : 0) + (signs ? 1 : 0);
  if (forms !== 1) throw new InputError('wrong_form', f.id, 'needs a state, a number or signs: exactly one of them');
  if (f.multi && o.state) return readSigns(f, at, [o.state], [], none);
  if (f.multi && signs) return readSigns(f, at, present, absent, none);
  if (f.multi) throw new InputError('wrong_form', f.id, 'has signs that are there or not; a number says nothing');
  if (signs) throw new InputError('wrong_form', f.id, 'has one state at a time, not a list of signs');
  if (o.number) return readNumber(bundle, f, at, o.number, observed);
  const s = stateOf(f, o.state);
  if (s < 0) throw new InputError('unknown_state', f.id, `there is no state "${o.state}"`);
  return {finding: at, shown: s, present: [], parts: [{at: 0, state: s, weight: []}]};
}

/**
 * Reads observations into pieces in catalogue order.
 * @param {any} bundle
 * @param {Map<string, number>} findings
 * @param {Map<string, string>} none
 * @param {any[]} observed
 */
export function readPieces(bundle, findings, none, observed) {
  /** @type {Piece[]} */
  const out = [];
  for (const o of observed) {
    const at = findings.get(o.finding);
    if (at === undefined) throw new InputError('unknown_finding', o.finding, `there is no finding "${o.finding}"`);
    if (out.some((p) => p.finding === at)) throw new InputError('twice', o.finding, 'said twice');
    const piece = readOne(bundle, bundle.findings[at], at, o, observed, none.get(o.finding) ?? '');
    if (piece.parts.length > 0) out.push(piece);
  }
  return out.sort((a, b) => a.finding - b.finding);
}

/** Whether the piece most likely shows state. @param {Piece} p @param {number} state */
export const shows = (p, state) => state >= 0 && (p.shown === state || p.present.includes(state));

/** Whether the piece shows state beyond reasonable doubt. @param {Piece} p @param {number} state */
function surely(p, state) {
  if (!shows(p, state)) return false;
  return p.shown < 0 || p.parts[0].state >= 0 || p.parts[0].weight[state] >= 0.95;
}

/**
 * Whether a rule sets aside a finding that shows what `showing` says.
 * @param {any} bundle
 * @param {number} at
 * @param {(state: number) => boolean} showing
 * @param {Piece[]} seen
 */
export function isIgnored(bundle, at, showing, seen) {
  const f = bundle.findings[at];
  return (bundle.ignore ?? []).some((/** @type {any} */ r) => {
    if (r.finding !== f.id || (r.state && !showing(stateOf(f, r.state)))) return false;
    const other = seen.find((p) => bundle.findings[p.finding].id === r.other);
    return other !== undefined && r.other_states.some((/** @type {string} */ s) =>
      shows(other, stateOf(bundle.findings[other.finding], s)));
  });
}

const FINDING = 'finding:';
/** @param {string} s */
const list = (s) => s.split(',').map((x) => x.trim());

/** @param {any} bundle @param {any} when @param {any} c @param {string} season @param {Piece[]} seen */
function applies(bundle, when, c, season, seen) {
  return Object.entries(when).every(([key, want]) => {
    if (key.startsWith(FINDING)) {
      const p = seen.find((x) => bundle.findings[x.finding].id === key.slice(FINDING.length));
      return p !== undefined && list(want).some((s) => surely(p, stateOf(bundle.findings[p.finding], s)));
    }
    if (key === 'month') return c.month > 0 && list(want).includes(String(c.month));
    if (key === 'season') return list(want).includes(season);
    const got = c.context?.[key];
    return got !== undefined && list(want).includes(got);
  });
}

const TOP_RATE = 0.95; // keeps an adjusted rate a chance that evidence can still speak against

/**
 * Base rates of a case, adjusted by its context.
 * @param {any} bundle
 * @param {number[]} rates of the season
 * @param {any} c
 * @param {string} season
 * @param {Piece[]} seen
 * @param {(rates: number[]) => void} before lets what went before change them
 */
export function adjustRates(bundle, rates, c, season, seen, before) {
  const out = [...rates];
  for (const a of bundle.adjust ?? []) {
    if (!applies(bundle, a.when, c, season, seen)) continue;
    bundle.causes.forEach((/** @type {any} */ cause, /** @type {number} */ i) => {
      if ((a.cause !== '*' && a.cause !== cause.id) || (a.except ?? []).includes(cause.id)) return;
      if (a.set > 0) out[i] = a.set;
      if (a.factor > 0) out[i] *= a.factor;
      if (a.at_most > 0) out[i] = Math.min(out[i], a.at_most);
    });
  }
  before(out);
  return out.map((r) => Math.min(r, TOP_RATE));
}

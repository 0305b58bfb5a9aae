// The diagnosis engine for the phone: exact inference over sets of at most K causes of a noisy-OR network, with what speaks
// for and against each cause and the next best check. It is the office's engine in another language, operation by
// operation; testdata/vectors and a run over random cases hold both to a billionth. It does no I/O and asks no clock.

import {Contradiction, InputError, adjustRates, isIgnored, readPieces, shows} from './diagnose_evidence.js';
import {decide, fill, makeChildren, makeSets, makeSpared, makeVariables, prior, rateOf} from './diagnose_model.js';
import {explain, oddsBefore, rank, strong, verdict} from './diagnose_rank.js';
import {makeNext} from './diagnose_next.js';
import {property} from './diagnose_property.js';
import {course, readCourse} from './diagnose_course.js';

export {observe} from './observe.js';
export {Contradiction, InputError};

/**
 * @typedef {import('./diagnose_evidence.js').Piece} Piece
 * @typedef {{finding: string, state: string, weight: number}} Weight
 * @typedef {{id: string, likelihood: number, carried: number, role: string, driven_by: string[], for: Weight[], against: Weight[]}} Likelihood
 * @typedef {{check: string, minutes: number, gain: number, apart: string[]}} Next
 * @typedef {{id: string, edition: string, season: string, causes: Likelihood[], nothing_wrong: number, next: Next[],
 *   verdict: string, ignored: string[], counted: number}} Answer
 * @typedef {{finding: string, state?: string, number?: {mean: number, sd: number, n: number, unit?: string},
 *   present?: string[], absent?: string[]}} Observed
 * @typedef {{id?: string, season?: string, month?: number, context?: Object<string, string>, observed?: Observed[],
 *   before?: {cause: string, likelihood: number, days: number}[], done?: {action: string, days: number}[]}} Case
 */

// The logarithm that stands for "can't be": below any sum of logarithms and yet finite, so that leaving one finding out is
// a subtraction. Below UNTHINKABLE a sum holds at least one.
const IMPOSSIBLE = -1e6;
const UNTHINKABLE = -1e5;
const NEGLIGIBLE = -40; // how far below the likeliest set a logarithm may lie and still be worth an exponential
const SLIP = 1e-7; // a set below this share says nothing in words: what is left out only adds, so that all sets together come to at least 1
const MARGIN = 1e-6; // so that rounding never leaves out a set at the very limit
const FAINT = 1e-5; // a set below this is left out when checks are weighed

/** @param {number} p */
const safeLog = (p) => (p <= 0 ? IMPOSSIBLE : Math.log(p));

/**
 * Writes the distribution whose logarithms, up to a constant, are logs, top the highest of them; returns the sum it was scaled by.
 * @param {Float64Array} logs
 * @param {number} top
 * @param {Float64Array} out
 */
export function softmax(logs, top, out) {
  let sum = 0;
  for (let i = 0; i < logs.length; i++) {
    const l = logs[i] - top;
    sum += out[i] = l < NEGLIGIBLE ? 0 : Math.exp(l);
  }
  for (let i = 0; i < out.length; i++) out[i] /= sum;
  return sum;
}

/** @param {Float64Array} logs */
function highest(logs) {
  let top = -Infinity;
  for (let i = 0; i < logs.length; i++) if (logs[i] > top) top = logs[i];
  return top;
}

/** @param {any} bundle */
function indexes(bundle) {
  const causes = new Map(bundle.causes.map((/** @type {any} */ c, /** @type {number} */ i) => [c.id, i]));
  const findings = new Map(bundle.findings.map((/** @type {any} */ f, /** @type {number} */ i) => [f.id, i]));
  /** @type {Map<string, string>} */
  const none = new Map();
  for (const c of bundle.checks) {
    if (c.kind === 'signs' && c.none) for (const y of c.yields ?? []) none.set(y.finding, c.none);
  }
  const groups = (bundle.groups ?? []).map((/** @type {string[]} */ g) => new Set(g.map((id) => findings.get(id))));
  // What there is to decide. What is nearly always the result of something else is decided with what drives it.
  const keys = bundle.causes.map((/** @type {any} */ c) =>
    (c.consequence ? '' : c.plan ? `plan ${c.plan}` : `cause ${c.id}`));
  const unique = [...new Set(keys)].filter((k) => k !== '');
  const plans = Int32Array.from(keys, (/** @type {string} */ k) => unique.indexOf(k));
  const links = (bundle.drives ?? []).map((/** @type {any} */ d) => ({parent: causes.get(d.parent), child: causes.get(d.child), p: d.p}));
  const spoken = new Set(bundle.findings.flatMap((/** @type {any} */ f) => (f.rows ?? []).map((/** @type {any} */ r) => r.cause)));
  const mute = bundle.causes.map((/** @type {any} */ c) => !spoken.has(c.id));
  return {bundle, causes, findings, none, groups, plans, nplans: unique.length, links, mute};
}

/**
 * Makes the bundle ready. Tables of findings are made when they are first needed.
 * @param {any} bundle
 * @param {string} [edition] copied into every answer
 */
export function makeEngine(bundle, edition = '') {
  const ix = indexes(bundle);
  const children = makeChildren(bundle, ix.causes);
  const sets = decide(makeSets(bundle.causes.length, bundle.settings.max_set), bundle, children, ix.plans, ix.nplans);
  const nextChecks = makeNext(ix, sets);
  const buffer = () => new Float64Array(sets.count);
  const logs = buffer(), post = buffer(), left = buffer(), before = buffer(), gained = buffer(), site = buffer(), kept = buffer();
  const may = new Int32Array(sets.count); // candidates: see below
  let mays = 0, top = 0, total = 1; // top: the highest of logs; total: their posterior, in shares of the likeliest set
  /** @type {Float64Array[]} one for each counted piece: log P(piece | set) */
  const factors = [];
  /** @type {Map<number, {key: string, chance: Float64Array, out: Float64Array}>} by finding: what had to be computed last, since one answer changes at a time */
  const room = new Map();
  /** @type {Float64Array[]} by counted piece that is a number: P(piece | set) */
  const measured = [];
  const tables = new Map(), holds = new Map(), priors = new Map();
  let known = ''; // the season and rates that `before` was computed for

  /** @param {number} at @param {string} season */
  function variables(at, season) {
    const f = bundle.findings[at];
    const key = season in f.base ? season : 'all';
    const name = `${at} ${key}`;
    if (!tables.has(name)) tables.set(name, makeVariables(f, f.base[key], ix.none.get(f.id) ?? '', ix.causes));
    return tables.get(name);
  }

  /** @param {string} season */
  function spared(season) {
    if (!holds.has(season)) holds.set(season, makeSpared(bundle, ix.causes, season));
    return holds.get(season);
  }

  /** @param {any} v @param {number} state */
  function logRow(v, state) {
    v.log ??= [];
    return v.log[state] ??= fill(v, sets)[state].map(safeLog);
  }

  /** The logarithm of P(piece | set) for every set. @param {Piece} p @param {string} season @param {number} k its place */
  function factor(p, season, k) {
    const vars = variables(p.finding, season);
    const head = p.parts[0];
    if (p.parts.length === 1 && head.state >= 0) return logRow(vars[head.at], head.state);
    const key = `${season} ${p.parts.map((x) => `${x.at}:${x.state}:${x.weight.join()}`).join(' ')}`;
    const had = room.get(p.finding) ?? {key: '', chance: buffer(), out: buffer()};
    room.set(p.finding, had);
    measured[k] = had.chance;
    if (had.key === key) return had.out;
    had.key = key;
    if (head.state >= 0) addUp(p.parts, vars, had.out);
    else ofNumber(vars[head.at], head.weight, had);
    return had.out;
  }

  /** Several signs together: their logarithms add up. @param {any[]} parts @param {any[]} vars @param {Float64Array} out */
  function addUp(parts, vars, out) {
    out.set(logRow(vars[parts[0].at], parts[0].state));
    for (let j = 1; j < parts.length; j++) {
      const row = logRow(vars[parts[j].at], parts[j].state);
      for (let i = 0; i < out.length; i++) out[i] += row[i];
    }
  }

  /** A number: the states it may stand for, each by its weight. @param {any} v @param {number[]} weight @param {{chance: Float64Array, out: Float64Array}} to */
  function ofNumber(v, weight, {chance, out}) {
    const rows = fill(v, sets), {parent, last} = sets, {given} = v;
    chance.fill(0);
    for (let s = 0; s < weight.length; s++) {
      const w = weight[s], row = rows[s];
      if (w === 0) continue;
      for (let i = 0; i < chance.length; i++) chance[i] += w * row[i];
    }
    // A set whose last member has no say in the finding is as the set without it.
    out[0] = safeLog(chance[0]);
    for (let i = 1; i < out.length; i++) out[i] = given[last[i]] ? safeLog(chance[i]) : out[parent[i]];
  }

  /** The logarithm of P(set), in logs; kept while season and rates stay. @param {string} season @param {number[]} rates */
  function begin(season, rates) {
    const key = `${season} ${rates.join(' ')}`;
    if (key !== known) {
      prior(sets, rates, spared(season), children, safeLog, before);
      priors.clear();
    }
    known = key;
    logs.set(before);
  }

  /** How telling a piece is: the most that a single cause changes its chance. @param {Float64Array} f */
  function tell(f) {
    let most = 0;
    const none = f[0], n = ix.causes.size;
    for (let c = 1; c <= n; c++) most = Math.max(most, Math.abs(f[c] - none));
    return most;
  }

  /** The weight of each piece as a member of groups. @param {Piece[]} pieces */
  function share(pieces) {
    const weights = pieces.map(() => 1);
    for (const group of ix.groups) {
      let best = -1, most = 0;
      pieces.forEach((p, i) => {
        if (!group.has(p.finding)) return;
        const t = tell(factors[i]);
        if (best < 0 || t > most + 1e-12) { best = i; most = t; }
      });
      pieces.forEach((p, i) => {
        if (i !== best && group.has(p.finding)) weights[i] = Math.min(weights[i], bundle.settings.group_share);
      });
    }
    return weights;
  }

  /** Each cause's likelihood. @param {Float64Array} p over sets */
  function likelihoods(p) {
    const {start, members, count} = sets;
    const out = new Float64Array(bundle.causes.length);
    for (let i = 0; i < count; i++) {
      const x = p[i];
      if (x === 0) continue;
      for (let m = start[i]; m < start[i + 1]; m++) out[members[m]] += x;
    }
    return out.map((x) => Math.min(x, 1));
  }

  /** The findings that can't all be true. @param {Piece[]} pieces */
  function clash(pieces) {
    const ids = pieces.map((p) => bundle.findings[p.finding].id);
    const excluded = (/** @type {number} */ i, /** @type {number} */ j) => factors[i].every((x, s) => x <= UNTHINKABLE || factors[j][s] <= UNTHINKABLE);
    for (let i = 0; i < ids.length; i++) if (excluded(i, i)) return [ids[i]];
    for (let i = 0; i < ids.length; i++) for (let j = i + 1; j < ids.length; j++) if (excluded(i, j)) return [ids[i], ids[j]];
    return ids;
  }

  /** @param {Case} c */
  function seasonOf(c) {
    const month = c.month ?? 0;
    const id = c.season || (month >= 1 && month <= bundle.season_of.length ? bundle.season_of[month - 1] : '');
    if (!id) throw new InputError('unknown_season', '', 'needs a season or a month');
    if (!bundle.seasons.includes(id)) throw new InputError('unknown_season', '', `there is no season ${id}`);
    return id;
  }

  /** The posterior of every set, in post. @param {Case} c */
  function weigh(c) {
    const season = seasonOf(c);
    readCourse(bundle, ix.causes, c);
    const seen = readPieces(bundle, ix.findings, ix.none, c.observed ?? []);
    const aside = seen.map((p) => isIgnored(bundle, p.finding, (s) => shows(p, s), seen));
    const counted = seen.filter((_, i) => !aside[i]);
    const ignored = seen.filter((_, i) => aside[i]).map((p) => bundle.findings[p.finding].id);
    counted.forEach((p, i) => { factors[i] = factor(p, season, i); });
    const weights = share(counted);
    const rates = adjustRates(bundle, bundle.causes.map((/** @type {any} */ x) => rateOf(x, season)), c, season, seen,
      (/** @type {number[]} */ r) => course(bundle, ix.causes, c, r));
    begin(season, rates);
    for (let k = 0; k < weights.length; k++) {
      const f = factors[k], w = weights[k];
      for (let i = 0; i < logs.length; i++) logs[i] += w * f[i];
    }
    top = highest(logs);
    if (top < UNTHINKABLE) throw new Contradiction(clash(counted));
    total = softmax(logs, top, post);
    const near = [];
    for (let i = 0; i < post.length; i++) if (post[i] >= FAINT) near.push(i);
    return {season, seen, counted, ignored, weights, like: likelihoods(post), near: Int32Array.from(near)};
  }

  /**
   * The sets that may matter when one finding is left out, or the site's facts together: the others stay below SLIP with the
   * most that they can gain. Their posterior goes to kept, side by side.
   * @param {Piece[]} counted @param {number[]} weights
   */
  function candidates(counted, weights) {
    gained.fill(0);
    site.fill(0);
    for (let k = 0; k < counted.length; k++) {
      const f = factors[k], w = weights[k];
      if (bundle.findings[counted[k].finding].kind === 'site') for (let i = 0; i < site.length; i++) site[i] -= w * f[i];
      else for (let i = 0; i < gained.length; i++) if (-w * f[i] > gained[i]) gained[i] = -w * f[i];
    }
    const least = top + Math.log(SLIP * total) - MARGIN;
    mays = 0;
    for (let i = 0; i < logs.length; i++) {
      if (logs[i] + (gained[i] > site[i] ? gained[i] : site[i]) < least) continue;
      kept[mays] = post[i];
      may[mays++] = i;
    }
  }

  /** 1 over a row to the power of share, made when it is first asked for. @param {any} v @param {number} state @param {number} share */
  function undoRow(v, state, share) {
    const kept = share === 1 ? v.undo ??= [] : v.undoShare ??= [];
    return kept[state] ??= logRow(v, state).map((/** @type {number} */ l) => Math.exp(-share * l));
  }

  /** Takes piece k out of left, which holds a factor by candidate. @param {Piece} p @param {number} k @param {number} w @param {string} season */
  function undo(p, k, w, season) {
    const head = p.parts[0];
    if (p.parts.length === 1 && head.state >= 0) {
      const row = undoRow(variables(p.finding, season)[head.at], head.state, w);
      for (let j = 0; j < mays; j++) left[j] *= row[may[j]];
    } else if (w === 1 && head.state < 0) {
      const chance = measured[k];
      for (let j = 0; j < mays; j++) left[j] *= 1 / chance[may[j]];
    } else {
      const f = factors[k];
      for (let j = 0; j < mays; j++) left[j] *= Math.exp(-w * f[may[j]]);
    }
  }

  /**
   * Likelihoods of the posterior of the candidates, with left taken out of it. Where the posterior is nothing, because of a
   * piece that is left out, it is computed anew from what remains.
   * @param {number[]} pieces that are left out @param {number[]} weights
   */
  function withoutIt(pieces, weights) {
    const {start, members} = sets;
    const out = new Float64Array(bundle.causes.length);
    let sum = 0;
    for (let k = 0; k < mays; k++) {
      const i = may[k];
      let p = kept[k] * left[k];
      if (kept[k] === 0) {
        let l = logs[i] - top;
        for (const piece of pieces) l -= weights[piece] * factors[piece][i];
        p = Math.exp(l) / total;
      }
      if (p < SLIP) continue;
      sum += p;
      for (let m = start[i]; m < start[i + 1]; m++) out[members[m]] += p;
    }
    for (let c = 0; c < out.length; c++) out[c] = Math.min(out[c] / sum, 1);
    return out;
  }

  /** Each cause's likelihood with piece k left out, all other weights held. @param {any} w what was weighed @param {number} k */
  function without(w, k) {
    left.fill(1, 0, mays);
    undo(w.counted[k], k, w.weights[k], w.season);
    return withoutIt([k], w.weights);
  }

  /** What the next visit may start from: the likelihoods without the site's facts. @param {any} w what was weighed */
  function carried(w) {
    left.fill(1, 0, mays);
    /** @type {number[]} */
    const facts = [];
    w.counted.forEach((/** @type {Piece} */ p, /** @type {number} */ k) => {
      if (bundle.findings[p.finding].kind !== 'site') return;
      facts.push(k);
      undo(p, k, w.weights[k], w.season);
    });
    return withoutIt(facts, w.weights);
  }

  /** How likely cause c was before anything was found, and was not; kept while season and rates stay. @param {number} c */
  function odds(c) {
    if (!priors.has(c)) priors.set(c, oddsBefore(sets, before, c));
    return priors.get(c);
  }

  /** The posterior that both causes are active. @param {Int32Array} near */
  const together = (near) => (/** @type {number} */ a, /** @type {number} */ b) => {
    let sum = 0;
    for (const i of near) {
      let found = 0;
      for (let m = sets.start[i]; m < sets.start[i + 1]; m++) if (sets.members[m] === a || sets.members[m] === b) found++;
      if (found === 2) sum += post[i];
    }
    return sum;
  };

  return {
    /**
     * Likelihoods alone, in catalogue order, and that of nothing wrong.
     * @param {Case} c
     */
    likelihoods(c) {
      const {like} = weigh(c);
      return {likelihoods: [...like], nothing_wrong: post[0]};
    },

    /**
     * Weighs one case. Throws an InputError or a Contradiction.
     * @param {Case} c
     * @returns {Answer}
     */
    diagnose(c) {
      const w = weigh(c);
      candidates(w.counted, w.weights);
      const told = explain(ix, w, (k) => without(w, k), (at) => variables(at, w.season));
      carried(w).forEach((p, i) => { told[i].carried = p; });
      const causes = rank(ix, told, together(w.near));
      return {
        id: c.id ?? '', edition, season: w.season, causes, nothing_wrong: post[0],
        next: nextChecks(post, w, (at) => variables(at, w.season)),
        verdict: verdict(ix, causes, post[0], w.counted.length, (c) => strong(ix, odds(c), w.like[c])), ignored: w.ignored, counted: w.counted.length,
      };
    },

    /**
     * Makes the table of one finding more for the season of a case, and says whether there are others: answers come faster
     * from tables. For idle moments.
     * @param {Case} c
     */
    warm(c) {
      const season = seasonOf(c);
      for (let at = 0; at < bundle.findings.length; at++) {
        const cold = variables(at, season).filter((/** @type {any} */ v) => v && !v.p);
        if (cold.length === 0) continue;
        for (const v of cold) fill(v, sets);
        return true;
      }
      return false;
    },

    /**
     * The zones of one property together.
     * @param {{zone: string, area: number, answer: Answer}[]} zones
     */
    property: (zones) => property(bundle, ix.causes, zones),
  };
}


// The next best check: for each undone check, how much less doubt about what to do first it leaves. See diagnose.js.

import {NO, YES, rowsOf} from './diagnose_model.js';
import {isIgnored} from './diagnose_evidence.js';
import {falling, grid} from './diagnose_rank.js';

// What every check costs besides its own minutes: reading how it is done, getting there, writing it down (common practice).
const HANDLING = 2;
const MOST_SIGNS = 3; // how many signs of one finding are weighed together

/** Worth per minute of work. @param {any} n */
const rate = (n) => n.gain / (n.minutes + HANDLING);

/** The doubt about which plan comes first, in bits. @param {Float64Array} plans @param {number} mass */
function entropy(plans, mass) {
  let h = 0;
  for (let i = 0; i < plans.length; i++) {
    const p = plans[i] / mass;
    if (p > 0) h -= p * Math.log2(p);
  }
  return h;
}

/**
 * One thing that a check may show: its chance under each set that matters, and what it then does to the posterior. They
 * differ where a finding counts by a share only; null says that nothing happens.
 * @typedef {{chance: Float64Array, effect: Float64Array|null}} Outcome
 */

/** What two findings may show together. @param {Outcome[]} a @param {Outcome[]} b @param {() => Float64Array} take @param {number} size */
function both(a, b, take, size) {
  /** @param {Float64Array|null} p @param {Float64Array|null} q */
  const times = (p, q) => {
    if (!p || !q) return p ?? q;
    const out = take();
    for (let k = 0; k < size; k++) out[k] = p[k] * q[k];
    return out;
  };
  return a.flatMap((p) => b.map((q) => ({chance: /** @type {Float64Array} */ (times(p.chance, q.chance)), effect: times(p.effect, q.effect)})));
}

/**
 * Makes a function that lists undone checks, best first.
 * @param {any} ix
 * @param {any} sets
 */
export function makeNext(ix, sets) {
  const {bundle} = ix;
  const {start, members, first} = sets;
  const plans = new Float64Array(ix.nplans + 1);
  const causes = new Float64Array(ix.causes.size), shift = new Float64Array(ix.causes.size), like = new Float64Array(ix.causes.size);
  /** @type {Float64Array[]} arrays for the check at hand, made once and used again */
  const arrays = [];
  let taken = 0, size = 0, doubt = 0;
  // The sets that matter: which they are, their shares, what each would have done first, and its members side by side.
  let near = new Int32Array(0), mine = new Float64Array(0), does = new Int32Array(0), from = new Int32Array(1), who = new Int32Array(0);

  /** Takes the sets that matter out of all. @param {Int32Array} some @param {Float64Array} post */
  function gather(some, post) {
    near = some;
    size = near.length;
    mine = new Float64Array(size);
    does = new Int32Array(size);
    from = new Int32Array(size + 1);
    let sum = 0, many = 0;
    for (let k = 0; k < size; k++) {
      const i = near[k];
      sum += mine[k] = post[i];
      does[k] = first[i];
      from[k + 1] = many += start[i + 1] - start[i];
    }
    who = new Int32Array(many);
    for (let k = 0, m = 0; k < size; k++) {
      mine[k] /= sum;
      for (let q = start[near[k]]; q < start[near[k] + 1]; q++) who[m++] = members[q];
    }
  }

  function take() {
    if (!arrays[taken] || arrays[taken].length < size) arrays[taken] = new Float64Array(Math.max(size, 1024));
    return arrays[taken++];
  }

  /** The mass of plans under one outcome; null is none. @param {Float64Array|null} effect */
  function weigh(effect) {
    plans.fill(0);
    let mass = 0;
    for (let k = 0; k < size; k++) {
      const p = effect ? mine[k] * effect[k] : mine[k];
      mass += p;
      plans[does[k]] += p;
    }
    return mass;
  }

  /** The mass of causes under one outcome; null is none. @param {Float64Array|null} effect */
  function weighCauses(effect) {
    causes.fill(0);
    for (let k = 0; k < size; k++) {
      const p = effect ? mine[k] * effect[k] : mine[k];
      for (let m = from[k]; m < from[k + 1]; m++) causes[who[m]] += p;
    }
  }

  /** Expected drop in entropy, in bits; with moves, shift gets the expected change of likelihoods. @param {Outcome[]} may @param {boolean} moves */
  function gain(may, moves) {
    if (moves) shift.fill(0);
    let sum = 0;
    for (const {chance, effect} of may) {
      if (!effect) continue;
      const mass = weigh(effect);
      let seen = chance === effect ? mass : 0;
      if (chance !== effect) for (let k = 0; k < size; k++) seen += mine[k] * chance[k];
      if (!(seen > 0) || !(mass > 0)) continue;
      sum += seen * (doubt - entropy(plans, mass));
      if (!moves) continue;
      weighCauses(effect);
      for (let c = 0; c < causes.length; c++) shift[c] += seen * Math.abs(causes[c] / mass - like[c]);
    }
    return Math.max(sum, 0);
  }

  /** @param {Float64Array} chances @param {number} share @param {boolean} idle @returns {Outcome} */
  function outcome(chances, share, idle) {
    if (idle) return {chance: chances, effect: null};
    if (share === 1) return {chance: chances, effect: chances};
    const effect = take();
    for (let k = 0; k < size; k++) effect[k] = Math.exp(share * (chances[k] <= 0 ? -1e6 : Math.log(chances[k])));
    return {chance: chances, effect};
  }

  /** What finding f may show. @param {number} f @param {any} w @param {(at: number) => any[]} variables */
  function ofFinding(f, w, variables) {
    const again = ix.groups.some((/** @type {Set<number>} */ g) => g.has(f) && w.counted.some((/** @type {any} */ p) => g.has(p.finding)));
    const share = again ? bundle.settings.group_share : 1;
    const vars = variables(f);
    if (bundle.findings[f].multi) return ofSigns(f, vars, share, w);
    return rowsOf(vars[0], sets, near, take).map((row, st) =>
      outcome(row, share, isIgnored(bundle, f, (shown) => shown === st, w.seen)));
  }

  /**
   * Weighs each sign by itself, and lists what those that tell most may show together: given a set of causes signs come
   * independently of each other.
   * @param {number} f @param {any[]} vars @param {number} share @param {any} w
   */
  function ofSigns(f, vars, share, w) {
    const each = vars.flatMap((v, s) => {
      if (!v) return [];
      const rows = rowsOf(v, sets, near, take);
      const may = [outcome(rows[YES], share, isIgnored(bundle, f, (shown) => shown === s, w.seen)), outcome(rows[NO], share, false)];
      return [{may, worth: gain(may, false)}];
    });
    each.sort((a, b) => falling(a.worth, b.worth));
    return each.slice(1, MOST_SIGNS).reduce((to, x) => both(to, x.may, take, size), each[0].may);
  }

  /** The causes to decide on, at most three, whose likelihood the check would change most, likeliest first. */
  function apart() {
    return [...shift.keys()].filter((c) => ix.plans[c] >= 0 && grid(shift[c]) >= grid(0.01))
      .sort((a, b) => falling(shift[a], shift[b])).slice(0, 3)
      .sort((a, b) => falling(like[a], like[b])).map((c) => bundle.causes[c].id);
  }

  /**
   * @param {Float64Array} post
   * @param {any} w what was weighed
   * @param {(at: number) => any[]} variables
   */
  return (post, w, variables) => {
    gather(w.near, post);
    weigh(null);
    weighCauses(null);
    like.set(causes);
    doubt = entropy(plans, 1);
    const seenFindings = new Set(w.seen.map((/** @type {any} */ p) => p.finding));
    const out = [];
    for (const c of bundle.checks) {
      const yields = (c.yields ?? []).map((/** @type {any} */ y) => ix.findings.get(y.finding));
      if (c.retired || c.standing || yields.length === 0 || yields.some((/** @type {number} */ f) => seenFindings.has(f))) continue;
      taken = 0;
      const may = yields.slice(1).reduce((/** @type {Outcome[]} */ to, /** @type {number} */ f) => both(to, ofFinding(f, w, variables), take, size),
        ofFinding(yields[0], w, variables));
      const n = {check: c.id, minutes: c.minutes, gain: gain(may, true), apart: /** @type {string[]} */ ([])};
      if (!(grid(n.gain) > 0)) continue;
      n.apart = apart();
      out.push(n);
    }
    return out.sort((a, b) => falling(rate(a), rate(b)));
  };
}

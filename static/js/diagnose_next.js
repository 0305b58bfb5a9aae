// The next best check: for each undone check, how much less doubt about what to do it leaves. See diagnose.js.

import {YES} from './diagnose_model.js';
import {isIgnored} from './diagnose_evidence.js';
import {falling, grid} from './diagnose_rank.js';

// A set below this is left out when checks are weighed; what remains is scaled to add up to 1.
const FAINT = 1e-6;

/** The entropy in bits of a yes/no question whose yes has chance p. @param {number} p */
function bits(p) {
  if (!(p > 0) || p >= 1) return 0;
  return -(p * Math.log(p) + (1 - p) * Math.log1p(-p)) / Math.LN2;
}

/** @param {Float64Array} plans @param {number} mass */
function entropy(plans, mass) {
  let h = 0;
  for (const p of plans) h += bits(p / mass);
  return h;
}

// What every check costs besides its own minutes: reading how it is done, getting there, writing it down (common practice).
const HANDLING = 1;

/** Worth per minute of work. @param {any} n */
const rate = (n) => n.gain / (n.minutes + HANDLING);

/**
 * The sets that matter: their posterior, their members one after another, and where two causes of a set lead to one plan.
 * @param {any} ix
 * @param {any} sets
 * @param {Float64Array} post
 */
function present(ix, sets, post) {
  const kept = [], from = [0], members = [], again = [];
  let sum = 0;
  for (let i = 0; i < post.length; i++) {
    if (!(post[i] >= FAINT)) continue;
    const first = members.length;
    for (let m = sets.start[i]; m < sets.start[i + 1]; m++) {
      const c = sets.members[m], plan = ix.plans[c];
      if (plan >= 0 && members.slice(first).some((d) => ix.plans[d] === plan)) again.push({k: kept.length, plan});
      members.push(c);
    }
    from.push(members.length);
    kept.push(i);
    sum += post[i];
  }
  return {
    active: Int32Array.from(kept), mine: Float64Array.from(kept, (i) => post[i] / sum),
    from: Int32Array.from(from), members: Int32Array.from(members), again,
  };
}

/**
 * Undone checks, best first.
 * @param {any} ix
 * @param {any} sets
 * @param {Float64Array} post
 * @param {any} w what was weighed
 * @param {(at: number) => any[]} variables
 */
export function nextChecks(ix, sets, post, w, variables) {
  const {bundle} = ix;
  const {active, mine, from, members, again} = present(ix, sets, post);
  const plans = new Float64Array(ix.nplans), causes = new Float64Array(ix.causes.size), shift = new Float64Array(ix.causes.size);
  const seenFindings = new Set(w.seen.map((/** @type {any} */ p) => p.finding));
  const countedFindings = w.counted.map((/** @type {any} */ p) => p.finding);

  /** @param {number} k @param {Float64Array} row @param {number} share */
  const massOf = (k, row, share) => mine[k] * (share === 1 ? row[active[k]] : Math.pow(row[active[k]], share));

  /** One outcome: its chance, and the mass of sets, causes and plans. @param {Float64Array} row @param {number} share */
  function outcome(row, share) {
    causes.fill(0);
    let seen = 0, mass = 0;
    for (let k = 0; k < active.length; k++) {
      seen += mine[k] * row[active[k]];
      const p = massOf(k, row, share);
      mass += p;
      for (let m = from[k]; m < from[k + 1]; m++) causes[members[m]] += p;
    }
    plans.fill(0);
    for (let c = 0; c < causes.length; c++) if (ix.plans[c] >= 0) plans[ix.plans[c]] += causes[c];
    for (const a of again) plans[a.plan] -= massOf(a.k, row, share);
    return {seen, mass};
  }

  const {mass: whole} = outcome(new Float64Array(sets.count).fill(1), 1);
  const like = Float64Array.from(causes), doubt = entropy(plans, whole);

  /** Expected drop in entropy when v is seen. @param {any} v @param {number} share @param {(s: number) => boolean} idle */
  function gain(v, share, idle) {
    shift.fill(0);
    let sum = 0;
    for (let st = 0; st < v.states; st++) {
      if (idle(st)) continue;
      const {seen, mass} = outcome(v.p[st], share);
      if (!(seen > 0) || !(mass > 0)) continue;
      sum += seen * (doubt - entropy(plans, mass));
      for (let c = 0; c < causes.length; c++) shift[c] += seen * Math.abs(causes[c] / mass - like[c]);
    }
    return Math.max(sum, 0);
  }

  /** The causes, at most three, whose likelihood the check would change most, likeliest first. */
  function apart() {
    return [...shift.keys()].filter((c) => grid(shift[c]) >= grid(0.01))
      .sort((a, b) => falling(shift[a], shift[b])).slice(0, 3)
      .sort((a, b) => falling(like[a], like[b])).map((c) => bundle.causes[c].id);
  }

  /** Raises n to what finding f is worth. @param {number} f @param {any} n */
  function tryFinding(f, n) {
    const again = ix.groups.some((/** @type {Set<number>} */ g) => g.has(f) && countedFindings.some((/** @type {number} */ x) => g.has(x)));
    const share = again ? bundle.settings.group_share : 1;
    variables(f).forEach((v, s) => {
      if (!v) return;
      const idle = (/** @type {number} */ state) => isIgnored(bundle, f,
        bundle.findings[f].multi ? (shown) => state === YES && shown === s : (shown) => shown === state, w.seen);
      const g = gain(v, share, idle);
      if (grid(g) > grid(n.gain)) {
        n.gain = g;
        n.apart = apart();
      }
    });
  }

  const out = [];
  for (const c of bundle.checks) {
    const yields = (c.yields ?? []).map((/** @type {any} */ y) => ix.findings.get(y.finding));
    if (c.retired || c.kind === 'note' || c.kind === 'photo') continue;
    if (yields.some((/** @type {number} */ f) => seenFindings.has(f))) continue;
    const n = {check: c.id, minutes: c.minutes, gain: 0, apart: /** @type {string[]} */ ([])};
    for (const f of yields) tryFinding(f, n);
    if (grid(n.gain) > 0) out.push(n);
  }
  return out.sort((a, b) => falling(rate(a), rate(b)));
}

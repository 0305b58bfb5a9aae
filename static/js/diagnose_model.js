// What the bundle says, made ready for the engine: every set of at most K causes, the chance of each state under each
// set, and the hold that causes have on each other. See diagnose.js.

/**
 * A question with exclusive answers: a finding with its states, or one sign (yes, no) of a multi finding.
 * hide, miss: what each cause does to each state; p: P(state | set), a row for each state, and log: its logarithms, made when
 * first needed.
 * @typedef {{states: number, base: number[], given: (number[]|null)[], floor: number, hide: Float64Array[], miss: Float64Array[],
 *   p: Float64Array[]|null, log?: Float64Array[]}} Variable
 * @typedef {{count: number, start: Int32Array, members: Int32Array, parent: Int32Array, last: Int32Array}} Sets
 */

export const YES = 0;
export const NO = 1;
const TINY = 1e-9; // stands in for a base share of zero where a site finding has to divide by it
const MAX_SETS = 1 << 18;

/**
 * Every set of at most k of n causes: the empty one first, then by size, each size in rising order.
 * @param {number} n
 * @param {number} k
 * @returns {Sets}
 */
export function makeSets(n, k) {
  const start = [0, 0], members = [], parent = [0], last = [-1];
  let from = 0;
  for (let size = 1; size <= k && size <= n; size++) {
    const to = last.length;
    for (let i = from; i < to; i++) {
      for (let c = last[i] + 1; c < n; c++) {
        if (last.length === MAX_SETS) throw new Error(`${n} causes in sets of up to ${k} are too many`);
        for (let m = start[i]; m < start[i + 1]; m++) members.push(members[m]);
        members.push(c);
        start.push(members.length);
        parent.push(i);
        last.push(c);
      }
    }
    from = to;
  }
  const ints = (/** @type {number[]} */ a) => Int32Array.from(a);
  return {count: last.length, start: ints(start), members: ints(members), parent: ints(parent), last: ints(last)};
}

/**
 * Turns the listed shares of one cause (-1: not listed) into a distribution; what is left of 1 is spread over the states
 * that are not listed in proportion to base.
 * @param {number[]} base
 * @param {number[]} listed
 */
export function complete(base, listed) {
  let stated = 0, rest = 0, open = 0;
  listed.forEach((p, s) => {
    if (p >= 0) stated += p;
    else { rest += base[s]; open++; }
  });
  if (stated > 1.15 || (open === 0 && stated < 0.8)) throw new Error(`the states add up to ${stated}`);
  let scale = 1;
  if (open === 0) scale = 1 / stated;
  else if (stated > 0.99) scale = 0.99 / stated;
  const left = 1 - stated * scale;
  return listed.map((p, s) => {
    if (p >= 0) return p * scale;
    return rest > 0 ? left * base[s] / rest : left / open;
  });
}

/**
 * What cause does to the background of state (a factor) and the chance that it fails to produce the state.
 * @param {Variable} v
 * @param {number} cause
 * @param {number} state
 * @param {boolean} site
 */
function effect(v, cause, state, site) {
  const given = v.given[cause];
  if (!given) return [1, 1];
  const p = given[state], b = v.base[state];
  if (site) return [p / Math.max(b, TINY), 1];
  if (p < b) return [p / b, 1];
  if (p > b) return [1, (1 - p) / (1 - b)];
  return [1, 1];
}

/**
 * What every cause does to every state, for fill and rowsOf.
 * @param {Variable} v
 * @param {boolean} site
 */
function withEffects(v, site) {
  v.floor = site ? TINY : 0;
  for (let st = 0; st < v.states; st++) {
    const hide = new Float64Array(v.given.length), miss = new Float64Array(v.given.length);
    for (let c = 0; c < hide.length; c++) [hide[c], miss[c]] = effect(v, c, st, site);
    v.hide.push(hide);
    v.miss.push(miss);
  }
  return v;
}

/**
 * P(state | set) for every set, in v.p, each from the set it grows from. A cause that makes a state rarer suppresses only the
 * background; one that makes it commoner produces it whatever the others do. A site finding is older than its cause and is
 * not produced: there the ratios multiply. Made when a finding is first counted: the tables of all take a phone a while.
 * @param {Variable} v
 * @param {Sets} sets
 */
export function fill(v, sets) {
  if (v.p) return v.p;
  const {count, parent, last} = sets;
  const missing = new Float64Array(count), sums = new Float64Array(count);
  const rows = [];
  for (let st = 0; st < v.states; st++) {
    const row = new Float64Array(count), hide = v.hide[st], miss = v.miss[st];
    const b = Math.max(v.base[st], v.floor);
    row[0] = 1;
    missing[0] = 1;
    for (let i = 1; i < count; i++) {
      const c = last[i], p = parent[i];
      row[i] = row[p] * hide[c];
      missing[i] = missing[p] * miss[c];
    }
    for (let i = 0; i < count; i++) {
      const x = b * row[i] * missing[i] + (1 - missing[i]);
      row[i] = x;
      sums[i] += x;
    }
    rows.push(row);
  }
  for (const row of rows) for (let i = 0; i < count; i++) if (sums[i] !== 0) row[i] /= sums[i];
  v.p = rows;
  return rows;
}

/**
 * The rows of fill for some sets only, without making the table: the same numbers, as the same factors come in the same order.
 * @param {Variable} v
 * @param {Sets} sets
 * @param {Int32Array} some
 * @param {() => Float64Array} take an array for some
 */
export function rowsOf(v, sets, some, take) {
  const {start, members} = sets;
  const out = [];
  for (let st = 0; st < v.states; st++) {
    const to = take();
    if (v.p) {
      const row = v.p[st];
      for (let k = 0; k < some.length; k++) to[k] = row[some[k]];
      out.push(to);
      continue;
    }
    const hide = v.hide[st], miss = v.miss[st], b = Math.max(v.base[st], v.floor);
    for (let k = 0; k < some.length; k++) {
      let row = 1, missing = 1;
      for (let m = start[some[k]]; m < start[some[k] + 1]; m++) {
        row *= hide[members[m]];
        missing *= miss[members[m]];
      }
      to[k] = b * row * missing + (1 - missing);
    }
    out.push(to);
  }
  if (v.p) return out;
  for (let k = 0; k < some.length; k++) {
    let sum = 0;
    for (const to of out) sum += to[k];
    if (sum !== 0) for (const to of out) to[k] /= sum;
  }
  return out;
}

/**
 * The variables of a finding in a season: one, or one per sign (null at the none sign).
 * @param {any} f a finding of the bundle
 * @param {number[]} base
 * @param {string} none
 * @param {Map<string, number>} causes
 * @returns {(Variable|null)[]}
 */
export function makeVariables(f, base, none, causes) {
  if (!base || base.length !== f.states.length) throw new Error(`finding ${f.id}: base shares do not match its states`);
  const states = new Map(f.states.map((/** @type {any} */ s, /** @type {number} */ i) => [s.id, i]));
  const site = f.kind === 'site';
  /** @type {Map<number, number[]>} */
  const rows = new Map();
  for (const r of f.rows ?? []) {
    const c = causes.get(r.cause), s = states.get(r.state);
    if (c === undefined || s === undefined) throw new Error(`finding ${f.id}: a row names an unknown cause or state`);
    if (!rows.has(c)) rows.set(c, f.states.map(() => -1));
    /** @type {number[]} */ (rows.get(c))[s] = r.p;
  }
  const blank = () => Array.from({length: causes.size}, () => /** @type {number[]|null} */ (null));
  if (!f.multi) {
    const sum = base.reduce((a, b) => a + b, 0);
    const v = {states: base.length, base: base.map((b) => b * (1 / sum)), given: blank(), floor: 0, hide: [], miss: [], p: null};
    for (const [c, listed] of rows) v.given[c] = complete(v.base, listed);
    return [withEffects(v, site)];
  }
  return f.states.map((/** @type {any} */ state, /** @type {number} */ s) => {
    if (state.id === none) return null;
    const v = {states: 2, base: [base[s], 1 - base[s]], given: blank(), floor: 0, hide: [], miss: [], p: null};
    for (const [c, listed] of rows) if (listed[s] >= 0) v.given[c] = [listed[s], 1 - listed[s]];
    return withEffects(v, site);
  });
}

/** @param {any} cause @param {string} season */
export const rateOf = (cause, season) => cause.rates[season] ?? cause.rates.all ?? 0;

/**
 * spared[parent][child]: chance that the active parent does not bring the child about in season. Out of the child's season
 * a link is weaker, as the child's own rate is.
 * @param {any} bundle
 * @param {Map<string, number>} causes
 * @param {string} season
 */
export function makeSpared(bundle, causes, season) {
  const spared = bundle.causes.map(() => new Float64Array(causes.size).fill(1));
  for (const d of bundle.drives ?? []) {
    const p = causes.get(d.parent), c = causes.get(d.child);
    if (p === undefined || c === undefined) throw new Error(`a drive names an unknown cause`);
    const child = bundle.causes[c];
    const top = Math.max(...bundle.seasons.map((/** @type {string} */ s) => rateOf(child, s)));
    spared[p][c] *= 1 - d.p * (top === 0 ? 1 : rateOf(child, season) / top);
  }
  return spared;
}

/** By cause: what it drives. @param {any} bundle @param {Map<string, number>} causes @returns {number[][]} */
export function makeChildren(bundle, causes) {
  /** @type {Set<number>[]} */
  const out = bundle.causes.map(() => new Set());
  for (const d of bundle.drives ?? []) out[/** @type {number} */ (causes.get(d.parent))].add(/** @type {number} */ (causes.get(d.child)));
  return out.map((s) => [...s]);
}

/**
 * Marks the sets in which a member drives another one (linked), and what would be done first if a set were the truth (first):
 * the plan of the gravest cause that no other member drives, or the number of plans for nothing.
 * @param {Sets} sets
 * @param {any} bundle
 * @param {number[][]} children
 * @param {Int32Array} plans by cause
 * @param {number} nplans
 */
export function decide(sets, bundle, children, plans, nplans) {
  const {count, start, members, parent, last} = sets;
  const drives = children.map((/** @type {number[]} */ list) => new Set(list));
  const linked = new Uint8Array(count), first = new Int32Array(count).fill(nplans);
  for (let i = 1; i < count; i++) {
    linked[i] = linked[parent[i]];
    let worst = -1;
    for (let m = start[i]; m < start[i + 1]; m++) {
      const c = members[m];
      let driven = false;
      for (let q = start[i]; q < start[i + 1]; q++) driven ||= drives[members[q]].has(c);
      if (drives[c].has(last[i]) || drives[last[i]].has(c)) linked[i] = 1;
      if (plans[c] >= 0 && !driven && bundle.causes[c].severity > worst) {
        worst = bundle.causes[c].severity;
        first[i] = plans[c];
      }
    }
  }
  return {...sets, linked, first};
}

/**
 * The logarithm of P(set) for every set: a cause is active by itself (its rate) or brought about by an active parent, and
 * every cause outside of the set is neither. In most sets no member drives another: there it is a sum.
 * @param {any} sets
 * @param {number[]} rates
 * @param {Float64Array[]} spared
 * @param {number[][]} children
 * @param {(p: number) => number} log
 * @param {Float64Array} out
 */
export function prior(sets, rates, spared, children, log, out) {
  const {start, members, linked, parent, last} = sets;
  let quiet = 0;
  for (const r of rates) quiet += Math.log1p(-r);
  const alone = rates.map((r, c) => {
    let a = -Math.log1p(-r);
    for (const child of children[c]) a += Math.log(spared[c][child]);
    return a;
  });
  const joins = rates.map((r, c) => alone[c] + log(r));
  out[0] = quiet;
  for (let i = 1; i < sets.count; i++) {
    if (!linked[i]) {
      out[i] = out[parent[i]] + joins[last[i]];
      continue;
    }
    let sum = 0, f = 1;
    for (let m = start[i]; m < start[i + 1]; m++) {
      const c = members[m];
      let inside = 1;
      for (let q = start[i]; q < start[i + 1]; q++) inside *= spared[members[q]][c];
      sum += alone[c];
      f *= (1 - (1 - rates[c]) * inside) / inside;
    }
    out[i] = quiet + (sum + log(f));
  }
}

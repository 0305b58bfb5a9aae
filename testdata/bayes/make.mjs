// Makes networks.json: small random networks in the form of our knowledge, with evidence, and what a general-purpose library for
// Bayesian networks answers. Every noisy-OR is written out as a full conditional table, so the library knows nothing of how
// the engine computes. See README.md for how to run it.
import { createRequire } from "node:module"
import { writeFileSync } from "node:fs"

const { inferences } = createRequire(process.cwd() + "/")("bayesjs")
const library = { name: "bayesjs", version: "0.6.5", from: "registry.npmjs.org", licence: "MIT", algorithm: "junction tree; variable elimination agrees to 1e-12" }

// A small generator of numbers, so that a run can be repeated (mulberry32).
let seed = 20260401
function random() {
  seed = (seed + 0x6d2b79f5) | 0
  let t = Math.imul(seed ^ (seed >>> 15), 1 | seed)
  t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t
  return ((t ^ (t >>> 14)) >>> 0) / 4294967296
}
const below = n => Math.floor(random() * n)
const round = x => Math.round(x * 1e4) / 1e4

function randomBundle(n, findings) {
  const causes = [], drives = []
  for (let c = 0; c < n; c++) {
    causes.push({ id: `c${c}`, severity: 0.5, rates: { wet: round(0.02 + 0.4 * random()) } })
    for (let p = 0; p < c; p++) if (below(3) === 0) drives.push({ parent: `c${p}`, child: `c${c}`, p: round(0.05 + 0.85 * random()) })
  }
  return {
    format: 1, seasons: ["wet"], season_of: Array(12).fill("wet"), causes, drives,
    findings: Array.from({ length: findings }, (_, i) => randomFinding(i, n)),
    settings: { max_set: n, likely: 0.25, cant_tell: 0.4, group_share: 0.5 },
  }
}

function randomFinding(i, causes) {
  const states = 2 + below(3), multi = below(4) === 0
  const f = { id: `f${i}`, kind: below(3) === 0 ? "site" : "look", states: [], base: { all: [] }, rows: [] }
  if (multi) f.multi = true
  let left = 1
  for (let s = 0; s < states; s++) {
    f.states.push({ id: `s${s}` })
    const share = s === states - 1 && !multi ? left : left * (0.2 + 0.5 * random())
    f.base.all.push(share)
    if (!multi) left -= share
  }
  if (!multi && below(2) === 0) {
    f.bands = f.states.map((s, k) => ({ state: s.id, low: k, high: k + 1 }))
    f.err_abs = round(0.1 + 0.6 * random())
  }
  for (let c = 0; c < causes; c++) {
    const spoken = f.states.filter(() => below(3) === 0).slice(0, states - 1) // some share is always left
    for (const s of spoken) f.rows.push({ state: s.id, cause: `c${c}`, p: round(0.02 + (0.9 / states) * random()) })
  }
  return f
}

// P(state | only this cause), or null when it says nothing. What its rows leave is spread as the base is.
function table(f, cause) {
  const rows = f.rows.filter(r => r.cause === cause)
  if (rows.length === 0) return null
  const base = f.base.all, said = id => rows.find(r => r.state === id)
  let left = 1, rest = 0
  f.states.forEach((s, k) => (said(s.id) ? (left -= said(s.id).p) : (rest += base[k])))
  return f.states.map((s, k) => (said(s.id) ? said(s.id).p : (left * base[k]) / rest))
}

// P(state | the causes with these tables): a noisy-OR over the states that each makes commoner, with a leak that each
// hides, scaled to add to 1; of a site finding the ratios multiply.
function shares(base, tables, site) {
  const w = base.map((b, s) => {
    if (site) return tables.reduce((x, t) => (x * t[s]) / b, b)
    let leak = b, miss = 1
    for (const t of tables) {
      if (t[s] < b) leak *= t[s] / b
      if (t[s] > b) miss *= (1 - t[s]) / (1 - b)
    }
    return 1 - (1 - leak) * miss
  })
  const sum = w.reduce((a, b) => a + b)
  return w.map(x => x / sum)
}

// Every way in which the named nodes can be T or F.
function* ways(ids) {
  for (let bits = 0; bits < 1 << ids.length; bits++) yield Object.fromEntries(ids.map((id, i) => [id, (bits >> i) & 1 ? "T" : "F"]))
}

function network(b, observed) {
  const net = {}
  for (const c of b.causes) {
    const drives = b.drives.filter(d => d.child === c.id), parents = drives.map(d => d.parent)
    const chance = way => 1 - drives.reduce((q, d) => (way[d.parent] === "T" ? q * (1 - d.p) : q), 1 - c.rates.wet)
    const then = p => ({ T: p, F: 1 - p })
    net[c.id] = { id: c.id, states: ["T", "F"], parents, cpt: parents.length ? [...ways(parents)].map(when => ({ when, then: then(chance(when)) })) : then(c.rates.wet) }
  }
  const given = {}
  for (const o of observed) observe(net, given, b, b.findings.find(f => f.id === o.finding), o)
  return { net, given }
}

function child(net, id, states, tables, base, site) {
  const parents = Object.keys(tables).filter(c => tables[c])
  const row = way => shares(base, parents.filter(c => way[c] === "T").map(c => tables[c]), site)
  const then = p => Object.fromEntries(states.map((s, k) => [s, p[k]]))
  net[id] = { id, states, parents, cpt: parents.length ? [...ways(parents)].map(when => ({ when, then: then(row(when)) })) : then(base) }
}

function observe(net, given, b, f, o) {
  const site = f.kind === "site"
  if (f.multi) {
    for (const [ids, answer] of [[o.present ?? [], "yes"], [o.absent ?? [], "no"]]) {
      for (const id of ids) {
        const base = f.base.all[f.states.findIndex(s => s.id === id)]
        const tables = {}
        for (const r of f.rows) if (r.state === id) tables[r.cause] = [r.p, 1 - r.p]
        child(net, `${f.id}.${id}`, ["yes", "no"], tables, [base, 1 - base], site)
        given[`${f.id}.${id}`] = answer
      }
    }
    return
  }
  const tables = Object.fromEntries(b.causes.map(c => [c.id, table(f, c.id)]))
  child(net, f.id, f.states.map(s => s.id), tables, f.base.all, site)
  if (o.state) {
    given[f.id] = o.state
    return
  }
  // A measured value is a child of the state, seen with the chance that each state gives it.
  const lambda = chances(f, o.number)
  net[`${f.id}.read`] = { id: `${f.id}.read`, states: ["seen", "not"], parents: [f.id], cpt: f.states.map((s, k) => ({ when: { [f.id]: s.id }, then: { seen: lambda[k], not: 1 - lambda[k] } })) }
  given[`${f.id}.read`] = "seen"
}

// The chance that the true value lies in each band, the outer ones open.
function chances(f, n) {
  const sigma = Math.sqrt((n.sd * n.sd) / n.n + f.err_abs * f.err_abs)
  const under = x => normal((x - n.mean) / sigma)
  return f.bands.map((band, k) => (k === f.bands.length - 1 ? 1 : under(band.high)) - (k === 0 ? 0 : under(band.low)))
}

// The normal distribution by the series 1/2 + phi(x) (x + x^3/3 + x^5/(3*5) + ...), all of one sign.
function normal(x) {
  let term = x, sum = x
  for (let k = 3; Math.abs(term) > 1e-18 * Math.abs(sum) && k < 2000; k += 2) sum += term *= (x * x) / k
  return 0.5 + (sum * Math.exp((-x * x) / 2)) / Math.sqrt(2 * Math.PI)
}

function randomEvidence(b) {
  return b.findings.filter(() => below(4) > 0).map(f => {
    if (f.multi) {
      const present = [f.states[0].id], absent = []
      for (const s of f.states.slice(1)) [present, absent, []][below(3)].push(s.id)
      return absent.length ? { finding: f.id, present, absent } : { finding: f.id, present }
    }
    if (f.bands) return { finding: f.id, number: { mean: round(random() * f.bands.length), sd: round(random()), n: 1 + below(4) } }
    return { finding: f.id, state: f.states[below(f.states.length)].id }
  })
}

const out = []
for (let k = 0; k < 24; k++) {
  const b = randomBundle(2 + below(5), 1 + below(4)), observed = randomEvidence(b)
  const { net, given } = network(b, observed)
  const likelihoods = b.causes.map(c => {
    const p = inferences.junctionTree.infer(net, { [c.id]: "T" }, given), q = inferences.variableElimination.infer(net, { [c.id]: "T" }, given)
    if (!(Math.abs(p - q) < 1e-12)) throw new Error(`network ${k}: the library's two ways differ: ${p} and ${q}`)
    return p
  })
  const nothing = inferences.variableElimination.infer(net, Object.fromEntries(b.causes.map(c => [c.id, "F"])), given)
  out.push({ bundle: b, case: { id: `network ${k}`, season: "wet", observed }, likelihoods, nothing })
}
const lines = out.map(o => JSON.stringify(o)).join(",\n")
writeFileSync(new URL("networks.json", import.meta.url), `{"library": ${JSON.stringify(library)},\n"networks": [\n${lines}\n]}\n`)
console.log(`${out.length} networks`)

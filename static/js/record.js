// The rules of the record of what was put down: what it lacks, which limits it passes, what a zone got this year, and when
// people may go back. The same meaning as store/record; testdata/vectors/record.json holds both to it. Items, rules, kinds and
// units are the office's data and come with the day packet.

import { read } from './read.js';

/**
 * @typedef {{zone: string, typed: string, amount: number, area_sqft: number}} AppliedZone
 * @typedef {object} Application
 * @property {string} id
 * @property {string} day
 * @property {string} material
 * @property {number} version
 * @property {string} name
 * @property {string} reg_no
 * @property {string} unit
 * @property {AppliedZone[]} zones
 * @property {string} start
 * @property {string} end
 * @property {Record<string, string>} items
 * @property {string} [at]
 * @property {string} [stamp]
 * @property {string} [corrects]
 * @property {boolean} [withdrawn]
 *
 * @typedef {{code: string, zone?: string, words?: Record<string, string>}} Flag
 * @typedef {{items: any[], rules: any[], kinds: any[], tools: any[], units: any[]}} Book
 * @typedef {{rules: string[], n_once: number, n_year: number}} Firm
 * @typedef {(id: string, version: number) => any} MaterialOf  null when it is not known
 */

const SLACK = 1 + 1e-9;
const SQFT_PER_ACRE = 43560;
const DAY = 24 * 3600_000;

const blank = (text) => { const t = String(text ?? '').trim(); return t === '' || t === '-'; };
const byId = (list, id) => list.find((x) => x.id === id);
const isTime = (text) => /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d/.test(text ?? '') && Number.isFinite(Date.parse(text));
const fold = (name) => String(name).trim().toLowerCase();
const yearOf = (day) => day.split('-')[0];

/** A number with up to three decimals. @param {number} x */
export function say(x) {
  return String(Math.floor(x * 1000 + 0.5) / 1000);
}

/** The rules that a record of a material comes under. @param {Book} book @param {any} material @param {Firm} firm */
export function rulesFor(book, material, firm) {
  const pesticide = byId(book.kinds, material?.kind)?.pesticide ?? false;
  return book.rules.filter((r) => (r.applies === 'all' || (r.applies === 'pesticide' && pesticide) || (r.applies === 'restricted' && material?.restricted))
    && (r.always || firm.rules.includes(r.id)));
}

/**
 * The items a record must hold, by id. Others are records that stand, of its day: they decide whether a shorter record of spots
 * will do. @param {Book} book @param {any} material @param {Firm} firm @param {Application} [a] @param {Application[]} [others] @returns {Set<string>}
 */
export function needed(book, material, firm, a, others = []) {
  return new Set(rulesFor(book, material, firm).flatMap((r) => (a && r.spot && allows(r.spot, a, others) ? r.spot.items : r.items)));
}

/** The rules of which the shorter record does. @param {Book} book @param {Application} a @param {any} material @param {Firm} firm @param {Application[]} others */
export function shorter(book, a, material, firm, others) {
  return rulesFor(book, material, firm).filter((r) => r.spot && allows(r.spot, a, others));
}

/** Whether it was spots, with those of the same person on that day on less ground than the rule names. */
function allows(spot, a, others) {
  let sqft = spotGround(spot, a);
  if (sqft === null) return false;
  for (const o of others) if (o.id !== a.id && o.id !== a.corrects && o.author === a.author && o.day === a.day) sqft += spotGround(spot, o) ?? 0;
  return sqft < spot.most_sqft;
}

/** What a record of spots covers; null when it is none, or a zone has no area. */
function spotGround(spot, a) {
  if (a.items[spot.item] !== spot.answer || a.zones.length === 0 || a.zones.some((z) => !(z.area_sqft > 0))) return null;
  return a.zones.reduce((n, z) => n + z.area_sqft, 0);
}

/** The items that are asked for and missing, in the order of the book. @param {Book} book @param {Application} a @param {any} material @param {Firm} firm @param {Application[]} others @returns {string[]} */
export function missing(book, a, material, firm, others) {
  const want = needed(book, material, firm, a, others);
  return book.items.filter((it) => want.has(it.id) && !holds(a, material, it)).map((it) => it.id);
}

function holds(a, material, it) {
  const every = (good) => a.zones.length > 0 && a.zones.every(good);
  const limits = material?.limits ?? {};
  switch (it.given) {
    case 'office': return true;
    case 'name': return !blank(a.name);
    case 'reg_no': return !blank(a.reg_no);
    case 'amounts': return every((z) => z.amount > 0);
    case 'areas': return every((z) => z.area_sqft > 0);
    case 'start': return isTime(a.start);
    case 'end': return isTime(a.end);
    case 'active': return (material?.actives ?? []).length > 0;
    case 'reentry': return limits.reentry_hours > 0 || Boolean(limits.reentry_say);
    default: return valueOf(it, a.items[it.id]) !== null;
  }
}

/** What was typed for an item; null when it is blank or can't be read. */
function valueOf(it, typed) {
  if (!it?.check || blank(typed)) return null;
  const { value, problems } = read(it.check, typed);
  return problems.every((p) => p.ask) && !value.blank ? value : null;
}

/** What was typed for a measured item, null when it is no number. @param {Book} book @param {Application} a @param {string} id */
export function number(book, a, id) {
  return valueOf(byId(book.items, id), a.items[id])?.numbers?.[0] ?? null;
}

/** How an amount is asked for and read: a number in the material's unit or another of its kind. @param {Book} book @param {string} unit */
export function amountCheck(book, unit) {
  const own = byId(book.units, unit) ?? { id: unit, label: { en: unit }, of: '', mul: 1, div: 1 };
  const others = book.units.filter((u) => u.id !== own.id && u.of === own.of).map((u) => ({ id: u.id, label: u.label, mul: u.mul * own.div, div: u.div * own.mul }));
  return { id: 'amount', kind: 'measure', hard: { low: 0, high: 1e6 }, decimals: 2, units: [{ id: own.id, label: own.label, mul: 1, div: 1 }, ...others] };
}

/** Reads a typed amount. @param {Book} book @param {string} unit @param {string} typed @returns {number} 0 when it can't be read */
export function amount(book, unit, typed) {
  if (blank(typed)) return 0;
  const { value, problems } = read(amountCheck(book, unit), typed);
  return problems.every((p) => p.ask) ? value.numbers?.[0] ?? 0 : 0;
}

const none = () => ({ n: 0, p2o5: 0, k2o: 0, active: {}, product: {} });

function plus(a, b) {
  const sum = (x, y) => { const out = { ...x }; for (const [k, v] of Object.entries(y)) out[k] = (out[k] ?? 0) + v; return out; };
  return { n: a.n + b.n, p2o5: a.p2o5 + b.p2o5, k2o: a.k2o + b.k2o, active: sum(a.active, b.active), product: sum(a.product, b.product) };
}

/** The weight of an amount in lb; 0 for a liquid of unknown density. */
export function pounds(book, amt, m) {
  const u = byId(book.units, m?.unit);
  if (!u) return 0;
  return u.of === 'mass' ? (amt * u.mul) / u.div : ((amt * u.mul) / u.div) * (m.density ?? 0);
}

function activeLb(book, amt, m, act) {
  const u = byId(book.units, m.unit);
  if (u?.of === 'volume' && act.lb_per_gal > 0) return ((amt * u.mul) / u.div) * act.lb_per_gal;
  return (pounds(book, amt, m) * (act.percent ?? 0)) / 100;
}

function convert(book, amt, from, to) {
  const x = byId(book.units, from), y = byId(book.units, to);
  return x && y && x.of === y.of ? (((amt * x.mul) / x.div) * y.div) / y.mul : amt;
}

/** What one record put onto one zone: nutrients in lb per 1000 sq ft, actives in lb per acre, the product per 1000 sq ft. */
export function part(book, a, m, z) {
  const p = none();
  if (!m || !(z.area_sqft > 0) || !(z.amount > 0)) return p;
  const thousands = z.area_sqft / 1000;
  const amt = a.unit === m.unit ? z.amount : convert(book, z.amount, a.unit, m.unit);
  p.product[a.material] = amt / thousands;
  const lb = pounds(book, amt, m) / thousands;
  const grade = m.grade ?? { n: 0, p2o5: 0, k2o: 0 };
  p.n = (lb * grade.n) / 100;
  p.p2o5 = (lb * grade.p2o5) / 100;
  p.k2o = (lb * grade.k2o) / 100;
  for (const act of m.actives ?? []) p.active[fold(act.name)] = (p.active[fold(act.name)] ?? 0) + (activeLb(book, amt, m, act) / z.area_sqft) * SQFT_PER_ACRE;
  return p;
}

/**
 * The limits that a record passes. Earlier holds the records of the property that stand, without the one this corrects.
 * @param {Book} book @param {Application} a @param {{material: MaterialOf, earlier: Application[], firm: Firm}} known @returns {Flag[]}
 */
export function judge(book, a, known) {
  const m = known.material(a.material, a.version);
  const flags = [];
  const j = { book, a, m: m ?? { id: '', kind: '', unit: '', actives: [], limits: {} }, known, flags };
  if (!m) flags.push({ code: 'unlisted' });
  if (isTime(a.start) && isTime(a.end) && Date.parse(a.end) < Date.parse(a.start)) flags.push({ code: 'reversed' });
  conditions(j);
  for (const z of a.zones) zone(j, z);
  return flags;
}

function over(j, code, zoneId, value, limit, words = {}) {
  if (limit > 0 && value > limit * SLACK) raise(j, code, zoneId, { ...words, value: say(value), limit: say(limit) });
}

function raise(j, code, zoneId, words) {
  j.flags.push({ code, ...(zoneId ? { zone: zoneId } : {}), words });
}

function conditions(j) {
  const l = j.m.limits;
  const wind = number(j.book, j.a, 'wind'), temp = number(j.book, j.a, 'temperature');
  if (wind !== null) {
    over(j, 'wind_high', '', wind, l.wind_high);
    if (wind < (l.wind_low ?? 0)) raise(j, 'wind_low', '', { value: say(wind), limit: say(l.wind_low) });
  }
  if (temp !== null) {
    over(j, 'temp_high', '', temp, l.temp_high);
    if (l.temp_low && temp < l.temp_low) raise(j, 'temp_low', '', { value: say(temp), limit: say(l.temp_low) });
  }
}

function zone(j, z) {
  const { book, a, m, known } = j;
  const now = part(book, a, m, z);
  let year = now, times = 1;
  const rolling = [{ days: 0, part: now, times: 1 }];
  for (const e of known.earlier) {
    const there = e.zones.filter((x) => x.zone === z.zone);
    if (there.length === 0) continue;
    const em = known.material(e.material, e.version);
    const days = daysBetween(e.day, a.day);
    if (days !== null) apart(j, e, em, z.zone, days);
    const put = { days: days ?? 0, part: there.map((x) => part(book, e, em, x)).reduce(plus), times: m.id && e.material === m.id ? 1 : 0 };
    if (days !== null) rolling.push(put);
    if (yearOf(e.day) !== yearOf(a.day)) continue;
    year = plus(year, put.part);
    times += put.times;
  }
  let label = year;
  if (m.limits.rolling) [label, times] = worst(rolling);
  amounts(j, z.zone, now, year, label);
  over(j, 'times', z.zone, times, m.limits.times);
}

/**
 * The most of each product and active, and the most applications, in any 365 days that hold the day judged, whose own part comes first.
 * @param {{days: number, part: any, times: number}[]} list  days before the day judged, negative after it
 * @returns {[any, number]}
 */
function worst(list) {
  const most = none();
  let times = 0;
  for (const first of list.filter((x) => x.days >= 0 && x.days < 365)) {
    const within = list.filter((x) => first.days - 365 < x.days && x.days <= first.days);
    const got = within.map((x) => x.part).reduce(plus);
    for (const kind of ['active', 'product']) for (const [k, v] of Object.entries(got[kind])) most[kind][k] = Math.max(most[kind][k] ?? 0, v);
    times = Math.max(times, within.reduce((n, x) => n + x.times, 0));
  }
  return [most, times];
}

function amounts(j, zoneId, now, year, label) {
  const { m, known } = j;
  const unit = m.unit;
  over(j, 'once', zoneId, now.product[m.id] ?? 0, m.limits.once, { unit });
  over(j, 'year', zoneId, label.product[m.id] ?? 0, m.limits.year, { unit });
  for (const act of m.actives ?? []) {
    over(j, 'active_once', zoneId, now.active[fold(act.name)] ?? 0, act.once_lb_a, { active: act.name });
    over(j, 'active_year', zoneId, label.active[fold(act.name)] ?? 0, act.year_lb_a, { active: act.name });
  }
  if (m.grade?.n > 0) {
    over(j, 'n_once', zoneId, now.n, known.firm.n_once);
    over(j, 'n_year', zoneId, year.n, known.firm.n_year);
  }
}

function apart(j, e, em, zoneId, days) {
  if (days < 0) return;
  const { m, book } = j;
  const seed = (x) => byId(book.kinds, x?.kind)?.seed ?? false;
  const soon = (code, least) => { if (days < (least ?? 0)) raise(j, code, zoneId, { material: e.name, value: String(days), limit: String(least) }); };
  if (m.id && e.material === m.id) soon('interval', m.limits.interval_days);
  if (seed(m)) soon('seed_soon', em?.limits?.seed_after);
  if (seed(em)) soon('after_seed', m.limits.seed_before);
}

/** Days from one local day to another, null when either is none. */
export function daysBetween(from, to) {
  const a = Date.parse(`${from}T00:00:00Z`), b = Date.parse(`${to}T00:00:00Z`);
  return Number.isFinite(a) && Number.isFinite(b) ? Math.trunc((b - a) / DAY) : null;
}

/** The records that stand: of a record and its corrections the latest, none when that withdraws it. @param {Application[]} list */
export function current(list) {
  const root = new Map(list.map((a) => [a.id, a.corrects || a.id]));
  const latest = new Map();
  for (const a of list) {
    let key = root.get(a.id);
    while (root.has(key) && root.get(key) !== key) key = root.get(key);
    const old = latest.get(key);
    if (!old || later(a, old)) latest.set(key, a);
  }
  const kept = new Set([...latest.values()].map((a) => a.id));
  const order = (x, y) => cmp(x.day, y.day) || cmp(x.start ?? '', y.start ?? '') || cmp(x.id, y.id);
  return list.filter((a) => kept.has(a.id) && !a.withdrawn).sort(order);
}

const cmp = (a, b) => (a < b ? -1 : a > b ? 1 : 0);

function later(a, b) {
  if (Boolean(a.corrects) !== Boolean(b.corrects)) return Boolean(a.corrects);
  return (cmp(a.stamp ?? '', b.stamp ?? '') || cmp(a.id, b.id)) > 0;
}

/** What each zone got in a year, from the records that stand. @param {Book} book @param {string} year @param {Application[]} list @param {MaterialOf} materialOf */
export function totals(book, year, list, materialOf) {
  const out = new Map();
  for (const a of list) {
    if (yearOf(a.day) !== year) continue;
    for (const z of a.zones) out.set(z.zone, plus(out.get(z.zone) ?? none(), part(book, a, materialOf(a.material, a.version), z)));
  }
  return out;
}

/** What keeps people off at a moment. @param {Application[]} list @param {MaterialOf} materialOf @param {number} now @returns {{zones: string[], name: string, until: number, say: string}[]} */
export function running(list, materialOf, now) {
  const out = [];
  for (const a of list) {
    const limits = materialOf(a.material, a.version)?.limits ?? {};
    if (!(limits.reentry_hours > 0) && !limits.reentry_say) continue;
    const text = [a.end, a.start, a.at].find(isTime);
    if (!text) continue;
    const ended = Date.parse(text);
    const until = limits.reentry_hours > 0 ? ended + limits.reentry_hours * 3600_000 : 0;
    if (now >= (until || ended + DAY)) continue;
    out.push({ zones: a.zones.map((z) => z.zone), name: a.name, until, say: limits.reentry_say ?? '' });
  }
  return out;
}

const FEET = { id: 'feet', kind: 'measure', hard: { low: 0.1, high: 5000 }, units: [{ id: 'ft', mul: 1, div: 1 }, { id: 'in', mul: 1, div: 12 }, { id: 'm', mul: 1, div: 0.3048 }] };

function measured(check, typed) {
  if (blank(typed)) return 0;
  const { value, problems } = read(check, typed);
  return problems.every((p) => p.ask) ? value.numbers?.[0] ?? 0 : 0;
}

/** What one unit on metric ground is of a unit of amounts on 1000 sq ft. */
const ON_GROUND = [['g/m2', 'g', 92.90304], ['g/100 m2', 'g', 0.9290304], ['kg/100 m2', 'kg', 0.9290304], ['L/100 m2', 'L', 0.9290304], ['mL/100 m2', 'mL', 0.9290304], ['mL/m2', 'mL', 92.90304]];

/** How a rate is read that is typed per 1000 sq ft in a unit, or per metric ground. @param {Book} book @param {string} unit */
function wantCheck(book, unit) {
  const check = amountCheck(book, unit), own = byId(book.units, unit);
  for (const [id, of, on] of ON_GROUND) {
    const u = byId(book.units, of);
    if (own && u.of === own.of) check.units.push({ id, label: { en: id }, mul: on * u.mul * own.div, div: u.div * own.mul });
  }
  return { ...check, id: 'want' };
}

/** The rate that was wanted, per 1000 sq ft; 0 for none. A number alone is in the calibration's unit. @param {Book} book */
export function wanted(book, { unit, want }) {
  return measured(wantCheck(book, unit), want);
}

const LONG = 200, LONG_NUMBER = 60; // characters

/** What is wrong with one text of a calibration; null when nothing is, or nothing was typed. @param {Book} book @param {string} unit @param {string} name @param {string} text */
export function calibrationProblem(book, unit, name, text) {
  const check = { width: FEET, length: FEET, collected: amountCheck(book, unit), want: wantCheck(book, unit) }[name];
  const high = check ? LONG_NUMBER : LONG;
  if ([...text].length > high) return { code: 'too_long', params: { high: String(high) } };
  if (!check || blank(text)) return null;
  return read(check, text).problems.find((p) => !p.ask) ?? null;
}

const WORN_FROM = 10; // percent off the mean, more than which a nozzle is replaced: LSU AgCenter, Sprayer calibration

/** What each nozzle gave in the same time, against their mean; null for fewer than two, or where one can't be read. @param {Book} book */
export function nozzles(book, { unit, catches }) {
  const caught = catchesOf(book, unit, catches);
  const total = caught.reduce((n, x) => n + x, 0);
  if (caught.length < 2 || !(total > 0)) return null;
  const mean = total / caught.length;
  return { mean, list: caught.map((x) => ({ caught: x, off: (x / mean - 1) * 100, worn: Math.abs((x / mean - 1) * 100) > WORN_FROM * SLACK })) };
}

function catchesOf(book, unit, catches) {
  if (blank(catches)) return [];
  const { value, problems } = read({ ...amountCheck(book, unit), kind: 'repeated' }, catches);
  return problems.every((p) => p.ask) ? value.numbers ?? [] : [];
}

/** What a spreader or sprayer put out per 1000 sq ft; 0 when one of the three can't be read. Without a sum, the nozzles together count. @param {Book} book */
export function rate(book, { unit, collected, catches, width, length }) {
  const got = blank(collected) ? catchesOf(book, unit, catches).reduce((n, x) => n + x, 0) : amount(book, unit, collected), wide = measured(FEET, width), long = measured(FEET, length);
  return got > 0 && wide > 0 && long > 0 ? (got / (wide * long)) * 1000 : 0;
}

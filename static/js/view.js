// What the phone knows: the day packet, what others recorded since, and what was recorded here, as one picture.
// Nothing is changed in place; the newest answer of a visit, zone and check shows.

import { allRows } from './outbox.js';
import { unknowing } from './pull.js';

/**
 * @typedef {object} Reading
 * @property {string} id
 * @property {string} visit
 * @property {string} zone
 * @property {string} check
 * @property {string} typed
 * @property {string} author
 * @property {string} at
 * @property {string} stamp   sorts by the merging clock
 * @property {number} seq     feed number, 0 when the office has not told us
 * @property {number} n       this phone's own number, 0 for others'
 *
 * @typedef {object} Known
 * @property {any} packet
 * @property {any[]} others
 * @property {any[]} rows
 * @property {any[]} drafts  what is half typed
 * @property {any} acked
 * @property {any} me
 * @property {Record<string, boolean>} [walked]  who needs no walk-through any more
 * @property {any} [lang]  the language chosen on this phone, and by whom
 * @property {any} knowledge
 * @property {boolean} [unknowing]  whether the knowledge never came to this phone
 * @property {any} tags      of the packet and the knowledge, and when the office was last asked for the packet
 * @property {number} [checked]
 * @property {Record<string, any>} marks
 * @property {number} skew
 */

/**
 * Reads everything in one go. The packet and the knowledge are large and seldom change: what the page has already is not read
 * again while its mark stays.
 * @param {import('./db.js').Store} db @param {any} [had]  what was read last @param {boolean} [knowledge]  whether it is wanted @returns {Promise<Known>}
 */
export function load(db, had = {}, knowledge = true) {
  return db.read(['pack', 'others', 'ops', 'past', 'meta', 'drafts'], async (tx) => {
    const rest = small(tx); // all is asked for at once: one answer after the other would take a cheap phone several times as long
    const tags = (await tx.get('pack', 'tags')) ?? {};
    const large = (/** @type {string} */ key) => (had[key] && tags[key] && tags[key] === had.tags?.[key] ? had[key] : tx.get('pack', key));
    const [known, packet, never, taught] = await Promise.all([rest, large('packet'), unknowing(tx), catalogue(tx, had, tags, knowledge)]);
    return { ...known, tags, packet, checked: tags.checked, unknowing: never, ...taught };
  });
}

/** The knowledge; an earlier release kept it read. @returns {Promise<any>} */
async function catalogue(tx, had, tags, wanted) {
  if (!wanted || (had.knowledge && tags.catalogue && had.tags?.catalogue === tags.catalogue)) return { knowledge: had.knowledge };
  const row = await tx.get('pack', 'catalogue');
  return { knowledge: row ? new Knowledge(row) : await tx.get('pack', 'knowledge') };
}

/** What the office knows of lawns, as text until somebody asks. */
class Knowledge {
  constructor({ edition, text }) {
    Object.assign(this, { edition, text });
  }

  get body() {
    return (this.read ??= JSON.parse(this.text));
  }
}

/** @param {import('./db.js').Tx} tx @returns {Promise<any>} */
async function small(tx) {
  const meta = (/** @type {string} */ key) => tx.get('meta', key);
  const [others, rows, drafts, counter, acked, me, marks, skew, sync, lang, walked] = await Promise.all(
    [tx.all('others'), allRows(tx), tx.all('drafts'), meta('counter'), meta('acked'), meta('me'), meta('marks'), meta('skew'), meta('sync'), meta('lang'), meta('walked')]);
  return { others, rows, drafts, device: counter?.device ?? '', acked: acked ?? { through: 0, at: 0, epoch: '' }, me, marks: marks ?? {}, skew: skew ?? 0, sync, lang, walked };
}

/** The local clock as the office will merge it: moved by how far the phone's clock is off. */
export function merged(hlc, skew) {
  const ms = parseInt(hlc.slice(0, 12), 16) + Math.round(skew);
  return Number.isFinite(ms) && ms > 0 ? ms.toString(16).padStart(12, '0') + hlc.slice(12) : hlc;
}

/** Which of two readings is the newer. On one phone its own numbers decide, never a clock. */
export function newer(a, b) {
  if (a.n > 0 && b.n > 0) return a.order - b.order;
  return a.stamp < b.stamp ? -1 : a.stamp > b.stamp ? 1 : a.seq - b.seq;
}

/** Whether a was made after b on one phone, or after its author had seen b. What the office has not told us of yet is the newest. */
function knows(a, b) {
  if (a.order > 0 && b.order > 0) return a.order > b.order;
  const seq = (r) => r.seq || Infinity;
  if (a.device && a.device === b.device) return seq(a) > seq(b);
  return seq(a) > seq(b) && (a.base ?? 0) >= seq(b);
}

/** The newest of those that nobody answered in knowledge of: knowing goes before clocks, here as in the office. */
function head(list) {
  const heads = list.filter((r) => !list.some((later) => later !== r && knows(later, r)));
  const order = (a, b) => (a.stamp !== b.stamp ? (a.stamp < b.stamp ? -1 : 1) : a.device !== b.device ? (a.device < b.device ? -1 : 1) : a.seq - b.seq);
  return (heads.length > 0 ? heads : list).reduce((best, r) => (order(r, best) > 0 ? r : best));
}

/**
 * The answer of one cell that stands. Where the packet says that another one counts than its clocks would have it, somebody in
 * the office chose: what came since competes with that one only.
 */
function standing(list) {
  const packed = list.filter((r) => r.packed);
  const chosen = packed.find((r) => r.current);
  if (!chosen || head(packed) === chosen) return head(list);
  return head([chosen, ...list.filter((r) => !r.packed)]);
}

export class View {
  /** @param {Known} known */
  constructor(known) {
    const body = known.packet?.body ?? { visits: [], properties: [], clients: [], zones: [], readings: [], diagnoses: [], days: [] };
    const byId = (list) => new Map(list.map((x) => [x.id, { ...x }]));
    Object.assign(this, { known, body, visits: byId(body.visits), properties: byId(body.properties), clients: byId(body.clients), zones: byId(body.zones) });
    /** @type {Map<string, any>} */
    this.readings = new Map(body.readings.map((r) => [r.id, { ...r, n: 0, order: 0, packed: true }]));
    for (const row of known.others) this.other(row);
    known.rows.forEach((row, i) => this.own(row, i + 1));
    this.cells = this.index();
  }

  /** @param {any} row  a row of the feed */
  other(row) {
    if (row.aside || !row.op?.body) return;
    this.apply(row.op, { stamp: row.stamp ?? row.op.hlc, seq: row.seq, n: 0, order: 0, device: row.device, base: row.op.base ?? 0 });
  }

  own(row, order) {
    const { known } = this;
    const had = this.readings.get(row.op.id);
    const mark = { stamp: had?.stamp ?? merged(row.op.hlc, known.skew), seq: had?.seq ?? 0, n: row.n, order, device: row.device ?? known.device, base: row.op.base ?? 0, packed: had?.packed, current: had?.current };
    if (row.op.form === 'visit' && !this.pending(row)) return;
    this.apply(row.op, mark);
  }

  /** Whether the packet may not know this row yet: an office's later decision must not be undone by an old tap. */
  pending(row) {
    if (row.device === undefined && row.n > this.known.acked.through) return true;
    const made = Date.parse(this.body.now ?? '');
    return !Number.isFinite(made) || row.saved + this.known.skew > made;
  }

  apply(op, mark) {
    const b = op.body;
    if (op.form === 'reading') this.readings.set(op.id, { id: op.id, visit: b.visit, zone: b.zone, check: b.check, typed: b.typed, author: op.author, at: op.at, ...mark });
    if (op.form === 'zone' && !this.zones.has(op.entity)) this.zones.set(op.entity, { id: op.entity, property: b.property, name: b.name, area_sqft: b.area_sqft ?? 0 });
    const visit = op.form === 'visit' ? this.visits.get(b.visit) : null;
    if (visit) visit.state = b.state;
  }

  /** visit → zone → check → readings, newest last. */
  index() {
    const cells = new Map();
    for (const r of this.readings.values()) {
      const key = `${r.visit} ${r.zone}`;
      if (!cells.has(key)) cells.set(key, new Map());
      const zone = cells.get(key);
      if (!zone.has(r.check)) zone.set(r.check, []);
      zone.get(r.check).push(r);
    }
    for (const zone of cells.values()) for (const list of zone.values()) list.sort(newer);
    return cells;
  }

  /** The answers that stand in a zone, by check. An answer that was taken back does not stand. @returns {Map<string, any>} */
  current(visit, zone) {
    const out = new Map();
    for (const [check, list] of this.cells.get(`${visit} ${zone}`) ?? []) {
      const stands = standing(list);
      if (!blank(stands.typed)) out.set(check, stands);
    }
    return out;
  }

  /** Whether the firm works in metric units. */
  get metric() {
    return this.body.firm?.units === 'metric';
  }

  /** All answers to one check in a zone, oldest first. @returns {any[]} */
  all(visit, zone, check) {
    return this.cells.get(`${visit} ${zone}`)?.get(check) ?? [];
  }

  /** The newest feed number seen of one cell. */
  base(visit, zone, check) {
    return this.all(visit, zone, check).reduce((most, r) => Math.max(most, r.seq), 0);
  }

  zonesOf(property) {
    return [...this.zones.values()].filter((z) => z.property === property);
  }

  /** The last answer that stood in this zone before the visit, with its day; null when there is none. */
  before(visit, zone, check) {
    return this.earlier(visit, zone).get(check) ?? null;
  }

  /** The same for all checks of a zone: each visit before is gone through once. @returns {Map<string, {reading: any, day: string}>} */
  earlier(visit, zone) {
    const key = `${visit} ${zone}`;
    if (this.past?.key === key) return this.past.answers;
    const day = this.visits.get(visit)?.day ?? '9999';
    const answers = new Map();
    for (const v of [...this.visits.values()].filter((v) => v.id !== visit && v.day < day).sort((a, b) => (a.day < b.day ? 1 : -1))) {
      for (const [check, reading] of this.current(v.id, zone)) if (!answers.has(check)) answers.set(check, { reading, day: v.day });
    }
    this.past = { key, answers };
    return answers;
  }

  /** What the office thought of this zone after the last visit before this one, with its day; null when nothing came. */
  thought(visit, zone) {
    const day = this.visits.get(visit)?.day ?? '9999';
    let last = null;
    for (const d of this.body.diagnoses ?? []) {
      const was = this.visits.get(d.visit)?.day ?? '';
      if (d.zone === zone && d.visit !== visit && was !== '' && was < day && (!last || was > last.day)) last = { day: was, diagnosis: d };
    }
    return last;
  }

  /** The visits of the day sheet, by day and then by their place on it. */
  sheet() {
    const mine = this.known.me?.id;
    const days = new Map();
    const list = [...this.visits.values()].filter((v) => this.body.days.includes(v.day) && (!v.crew || v.crew === mine));
    list.sort((a, b) => (a.day === b.day ? a.order - b.order : a.day < b.day ? -1 : 1));
    const waiting = [...this.visits.values()].filter((v) => v.day < (this.body.days[0] ?? '') && (v.state === 'under way' || v.state === 'sent back') && (!v.crew || v.crew === mine));
    if (waiting.length > 0) days.set('', waiting);
    for (const day of this.body.days) days.set(day, list.filter((v) => v.day === day));
    return days;
  }

  place(visit) {
    const property = this.properties.get(visit?.property);
    return { property, client: this.clients.get(property?.client) };
  }
}

/** @param {string} typed */
export function blank(typed) {
  const t = String(typed ?? '').trim();
  return t === '' || t === '-';
}

/** What a typed answer says in words. @param {any} check @param {string} typed @param {string} lang */
export function spoken(check, typed, lang) {
  const text = (t) => (lang === 'es' && t.es ? t.es : t.en);
  if (check.kind === 'choice' || check.kind === 'signs') {
    return typed.split(/\s+/).filter((id) => id && id !== 'only' && !id.startsWith('-'))
      .map((id) => { const o = (check.options ?? []).find((x) => x.id === id); return o ? text(o.label) : id; }).join('; ') || text((check.options ?? []).find((o) => o.id === check.none)?.label ?? { en: '–' });
  }
  if (check.kind === 'mix') {
    return typed.split(';').map((piece) => { const [id, ...share] = piece.trim().split(/\s+/); const o = (check.options ?? []).find((x) => x.id === id); return `${o ? text(o.label) : id} ${share.length > 0 ? `${share.join(' ')} %` : ''}`.trim(); }).join('; ');
  }
  if (check.kind === 'place') return '';
  if (check.kind === 'note') return typed;
  if (check.kind === 'photo') return '';
  const unit = (check.units ?? [])[0];
  return unit && !/[a-z%]/i.test(typed) ? `${typed} ${text(unit.label)}` : typed;
}

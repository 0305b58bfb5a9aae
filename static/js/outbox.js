// What a person recorded on this phone, until the office has it and for a while after. A row never changes once saved;
// a correction is a further row. Numbers are given out inside the saving transaction, so they have no holes whatever
// other tabs do.

import { chance, heard, localTime, tick, uuid4, uuid7, wellFormed } from './ids.js';

/**
 * @typedef {{sha: string, size: number, type: string, bytes: ArrayBuffer}} Picture
 *
 * @typedef {object} Op  one operation as sent
 * @property {number} n
 * @property {string} id
 * @property {string} op
 * @property {string} entity
 * @property {number} base
 * @property {string} form
 * @property {number} fver
 * @property {string} author
 * @property {string} hlc
 * @property {string} at
 * @property {Record<string, any>} body
 * @property {{sha: string, size: number, type: string}[]} photos
 *
 * @typedef {{n: number, op: Op, saved: number}} Row
 */

export const FORM_VERSION = 1;
const DAY = 24 * 3600_000;
const KEEP_ROWS = 30 * DAY;
const KEEP_PHOTOS = 7 * DAY;
const RECENT = 50;

const nobody = { through: 0, epoch: '', at: 0, days: [] };

export class Outbox {
  /**
   * @param {import('./db.js').Store} db
   * @param {{now?: () => number, random?: import('./ids.js').Random, offset?: () => number}} [world]
   */
  constructor(db, { now = Date.now, random = chance, offset = () => -new Date(now()).getTimezoneOffset() } = {}) {
    this.db = db;
    this.now = now;
    this.random = random;
    this.offset = offset;
  }

  /**
   * Saves one operation and its pictures, all or nothing, and returns the row once it is on the disk.
   * @param {string} form @param {Record<string, any>} body @param {Picture[]} [photos]
   * @param {{op?: string, entity?: string, base?: number, draft?: string}} [more]  draft: the draft this replaces
   * @returns {Promise<Row>}
   */
  async record(form, body, photos = [], more = {}) {
    const ms = this.now();
    const id = uuid7(ms, this.random);
    const fresh = { id, device: uuid4(this.random), ms, form, body: wellFormed(body), photos, more };
    try {
      return await this.save(fresh);
    } catch (err) {
      if (err?.name !== 'QuotaExceededError') throw err;
      await this.makeRoom();
      return this.save(fresh);
    }
  }

  save(fresh) {
    return this.db.keep(['ops', 'meta', 'photos', 'blobs', 'drafts'], async (tx) => {
      const [before, me] = await Promise.all([tx.get('meta', 'counter'), tx.get('meta', 'me')]);
      const counter = before ?? { device: fresh.device, last: 0, recent: [], hlc: '' };
      const earlier = counter.recent.find((r) => r.id === fresh.id);
      if (earlier) return tx.get('ops', earlier.n);
      const row = this.row(fresh, counter, me?.id ?? '');
      const recent = [...counter.recent, { id: fresh.id, n: row.n }].slice(-RECENT);
      await Promise.all([ // each way to the store and back costs more than the writing
        tx.put('ops', row), tx.put('meta', { ...counter, last: row.n, hlc: row.op.hlc, recent }, 'counter'),
        ...fresh.photos.map((p) => keepPicture(tx, p)), fresh.more.draft ? tx.delete('drafts', fresh.more.draft) : null,
      ]);
      return row;
    });
  }

  /** @returns {Row} */
  row(fresh, counter, author) {
    const { id, ms, form, body, photos, more } = fresh;
    const op = {
      n: counter.last + 1, id, op: more.op ?? 'create', entity: more.entity ?? id, base: more.base ?? 0, form, fver: FORM_VERSION,
      author, hlc: tick(counter.hlc, ms, counter.device), at: localTime(ms, this.offset()), body,
      photos: photos.map(({ sha, size, type }) => ({ sha, size, type })),
    };
    return { n: op.n, op, saved: ms };
  }

  /** The numbers of this phone: its name, the last number given out, and how far the office has it. */
  async state() {
    return this.db.read(['meta'], async (tx) => {
      const counter = await tx.get('meta', 'counter');
      const acked = (await tx.get('meta', 'acked')) ?? nobody;
      return { device: counter?.device ?? '', last: counter?.last ?? 0, acked };
    });
  }

  /** Rows from number n on, oldest first. @returns {Promise<Row[]>} */
  rows(n, limit) {
    return this.db.read(['ops'], (tx) => tx.all('ops', { from: n, limit }));
  }

  /** Everything the office has not confirmed. @returns {Promise<Row[]>} */
  async unsent() {
    return this.db.read(['ops', 'meta'], async (tx) => {
      const acked = (await tx.get('meta', 'acked')) ?? nobody;
      return tx.all('ops', { from: acked.through + 1 });
    });
  }

  /** Every row on this phone in the order of its saving, earlier names of the phone included. @returns {Promise<Row[]>} */
  everything() {
    return this.db.read(['ops', 'past'], allRows);
  }

  /**
   * What the foot line says: kept counts what is unsent and what was recorded since the start of the day.
   * @param {number} since @returns {Promise<{kept: number, received: number, unsent: number, oldest: number, at: number}>}
   */
  async counts(since) {
    const { rows, acked } = await this.db.read(['ops', 'meta'], async (tx) => ({
      rows: await tx.all('ops'), acked: (await tx.get('meta', 'acked')) ?? nobody,
    }));
    const waiting = rows.filter((r) => r.n > acked.through);
    const received = rows.filter((r) => r.n <= acked.through && r.saved >= since).length;
    const oldest = waiting.reduce((least, r) => Math.min(least, r.saved), Infinity);
    return { kept: waiting.length + received, received, unsent: waiting.length, oldest, at: acked.at };
  }

  /**
   * Notes how far the office has this phone, what it wants looked at, and which pictures it lacks, all in one: a row that
   * counts as sent without its mark would never be looked at. How far may go back: an office restored from a backup has
   * forgotten rows. What it says of numbers is then no proof, since a copy of this phone may have sent others under them:
   * every row that is still here goes again, and the ids tell.
   * @param {{through: number, epoch: string, now: string, device: string, attention?: any[], clash?: number[], photos_missing?: string[]}} reply
   */
  async confirm(reply) {
    const at = this.now();
    const office = Date.parse(reply.now);
    await this.db.note(['ops', 'meta', 'photos', 'blobs'], async (tx) => {
      const counter = await tx.get('meta', 'counter');
      if (counter && counter.device !== reply.device) return;
      const before = (await tx.get('meta', 'acked')) ?? nobody;
      const [first] = isOther(before, reply) ? await tx.all('ops', { limit: 1 }) : [];
      const through = first ? Math.min(first.n - 1, reply.through) : reply.through;
      const days = confirmedDays(before, { ...reply, through }, office);
      await tx.put('meta', { through, epoch: reply.epoch, at, days }, 'acked');
      if (!counter) return;
      await tx.put('meta', office - at, 'skew');
      await tx.put('meta', { ...counter, hlc: heard(counter.hlc, office, at, counter.device) }, 'counter');
      await heed(tx, reply);
    });
  }

  /** The office has less than was confirmed before. @param {string} device @param {number} through */
  stepBack(device, through) {
    return this.db.note(['meta'], async (tx) => {
      const counter = await tx.get('meta', 'counter');
      const acked = (await tx.get('meta', 'acked')) ?? nobody;
      if (counter?.device === device) await tx.put('meta', { ...acked, through }, 'acked');
    });
  }

  /**
   * Gives this phone a new name for all rows after `base`, numbered from 1 again. Their ids stay, so nothing is doubled.
   * @param {string} device  the name that turned out to be used twice @param {number} base
   */
  async fork(device, base) {
    const name = uuid4(this.random);
    await this.db.keep(['ops', 'past', 'meta'], async (tx) => {
      const counter = await tx.get('meta', 'counter');
      if (!counter || counter.device !== device) return;
      const turn = (counter.turn ?? 0) + 1;
      const rows = await tx.all('ops');
      for (const row of rows.filter((r) => r.n <= base)) await tx.put('past', { id: row.op.id, device, turn, ...row });
      await this.renumber(tx, { ...counter, device: name, turn }, rows.filter((r) => r.n > base));
    });
  }

  /**
   * The office is another one than before: what had been confirmed under earlier names of this phone is sent again as well, in
   * the order in which it was recorded, all of it under one new name.
   * @param {string} device
   */
  async gather(device) {
    const name = uuid4(this.random);
    await this.db.keep(['ops', 'past', 'meta'], async (tx) => {
      const counter = await tx.get('meta', 'counter');
      const rows = await allRows(tx);
      if (!counter || counter.device !== device || !rows.some((r) => r.device)) return;
      await tx.clear('past');
      await this.renumber(tx, { ...counter, device: name, turn: (counter.turn ?? 0) + 1 }, rows);
    });
  }

  /** Rows that go on under another name, from number 1. */
  async renumber(tx, counter, rows) {
    await tx.clear('ops');
    let n = 0;
    for (const { op, saved } of rows) {
      n++;
      await tx.put('ops', { n, op: { ...op, n }, saved });
    }
    await tx.put('meta', { ...counter, last: n, recent: [] }, 'counter');
    const acked = (await tx.get('meta', 'acked')) ?? nobody;
    await tx.put('meta', { ...nobody, epoch: acked.epoch, at: acked.at }, 'acked');
  }

  /** Frees what can be fetched again and pictures that the office has. Nothing unsent is ever touched. */
  async makeRoom() {
    await this.db.note(['photos', 'blobs', 'others', 'meta'], async (tx) => {
      await tx.clear('others');
      await tx.delete('meta', 'feed'); // a place in the feed without what came before it would be a hole
      for (const p of await tx.all('photos')) if (p.done) await tx.delete('blobs', p.sha);
    });
  }

  /**
   * Drops what the office has had for long. Only after a push of this same epoch confirmed it, and by the office's clock: this
   * phone's own may have jumped by years.
   */
  async prune() {
    await this.db.note(['ops', 'past', 'meta', 'photos', 'blobs'], async (tx) => {
      const now = this.now() + ((await tx.get('meta', 'skew')) ?? 0);
      const { days = [] } = (await tx.get('meta', 'acked')) ?? nobody;
      const old = days.filter((d) => now - d.at > KEEP_ROWS).at(-1)?.through ?? 0;
      await Promise.all((await tx.all('ops', { to: old })).map((row) => tx.delete('ops', row.n)));
      for (const row of await tx.all('past')) {
        if (row.seen === undefined) await tx.put('past', { ...row, seen: now });
        else if (now - row.seen > KEEP_ROWS) await tx.delete('past', row.id);
      }
      for (const p of (await tx.all('photos')).filter((x) => x.done)) {
        if (p.seen === undefined) await tx.put('photos', { ...p, seen: now });
        else if (now - p.seen > KEEP_PHOTOS) await tx.delete('blobs', p.sha);
      }
    });
  }
}

/** @param {import('./db.js').Tx} tx @returns {Promise<Row[]>} */
export async function allRows(tx) {
  const past = await tx.all('past');
  past.sort((a, b) => (a.turn ?? 0) - (b.turn ?? 0) || a.n - b.n);
  return [...past, ...(await tx.all('ops'))];
}

/** Whether an answer comes from another office than the one before: its database is another, restored from a backup perhaps. */
export function isOther(before, { epoch }) {
  return before.epoch !== '' && before.epoch !== epoch;
}

/**
 * How far the office was on which day, by its clock: one entry a day, as far back as rows are kept. Another office begins anew.
 * @returns {{at: number, through: number}[]}
 */
function confirmedDays(before, { epoch, through }, office) {
  const days = !isOther(before, { epoch }) ? (before.days ?? []).filter((d) => d.through <= through) : [];
  if (days.length === 0 || office - days.at(-1).at > DAY) days.push({ at: office, through });
  const old = days.filter((d) => office - d.at > KEEP_ROWS).length;
  return days.slice(Math.max(0, old - 1));
}

/** Keeps what the office wants looked at by id, and sends pictures again that it lacks. */
async function heed(tx, { device, attention = [], clash = [], photos_missing: missing = [] }) {
  const about = [...attention.filter((a) => a && Number.isSafeInteger(a.n)), ...clash.map((n) => ({ n, code: 'clash' }))];
  const marks = about.length > 0 ? (await tx.get('meta', 'marks')) ?? {} : null;
  for (const { n, code, say } of about) {
    const row = await tx.get('ops', n);
    if (row) marks[row.op.id] = { device, n, code: String(code), say: typeof say === 'string' ? say : '' };
  }
  if (marks) await tx.put('meta', marks, 'marks');
  for (const sha of missing) {
    const photo = await tx.get('photos', sha);
    if (photo?.done && (await tx.get('blobs', sha))) await tx.put('photos', { ...photo, sent: 0, done: 0, seen: undefined });
  }
}

/** @param {import('./db.js').Tx} tx @param {Picture} p */
async function keepPicture(tx, { sha, size, type, bytes }) {
  if (await tx.get('photos', sha)) return;
  await tx.put('blobs', bytes, sha);
  await tx.put('photos', { sha, size, type, sent: 0, done: 0 });
}

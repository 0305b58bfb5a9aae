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

const nobody = { through: 0, epoch: '', at: 0 };

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
      const counter = (await tx.get('meta', 'counter')) ?? { device: fresh.device, last: 0, recent: [], hlc: '' };
      const earlier = counter.recent.find((r) => r.id === fresh.id);
      if (earlier) return tx.get('ops', earlier.n);
      const me = await tx.get('meta', 'me');
      const row = this.row(fresh, counter, me?.id ?? '');
      await tx.put('ops', row);
      for (const p of fresh.photos) await keepPicture(tx, p);
      if (fresh.more.draft) await tx.delete('drafts', fresh.more.draft);
      const recent = [...counter.recent, { id: fresh.id, n: row.n }].slice(-RECENT);
      await tx.put('meta', { ...counter, last: row.n, hlc: row.op.hlc, recent }, 'counter');
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

  /** Every row on this phone, earlier names of the phone included. @returns {Promise<Row[]>} */
  everything() {
    return this.db.read(['ops', 'past'], async (tx) => [...(await tx.all('past')), ...(await tx.all('ops'))]);
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
   * Notes how far the office has this phone. It may go back: an office restored from a backup has forgotten rows.
   * @param {{through: number, epoch: string, now: string, device: string}} reply
   */
  async confirm(reply) {
    const at = this.now();
    await this.db.note(['meta'], async (tx) => {
      const counter = await tx.get('meta', 'counter');
      if (counter && counter.device !== reply.device) return;
      await tx.put('meta', { through: reply.through, epoch: reply.epoch, at }, 'acked');
      if (!counter) return;
      const office = Date.parse(reply.now);
      await tx.put('meta', office - at, 'skew');
      await tx.put('meta', { ...counter, hlc: heard(counter.hlc, office, at, counter.device) }, 'counter');
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
   * Keeps what the office wants looked at, and sends pictures again that it lacks.
   * @param {string} device @param {{attention: any[], clash: number[], photos_missing: string[]}} reply
   */
  async heed(device, { attention, clash, photos_missing: missing }) {
    if (attention.length + clash.length + missing.length === 0) return;
    await this.db.note(['ops', 'meta', 'photos', 'blobs'], async (tx) => {
      const marks = (await tx.get('meta', 'marks')) ?? {};
      const about = [...attention.filter((a) => a && Number.isSafeInteger(a.n)), ...clash.map((n) => ({ n, code: 'clash' }))];
      for (const { n, code, say } of about) {
        const row = await tx.get('ops', n);
        if (row) marks[row.op.id] = { device, n, code: String(code), say: typeof say === 'string' ? say : '' };
      }
      await tx.put('meta', marks, 'marks');
      for (const sha of missing) {
        const photo = await tx.get('photos', sha);
        if (photo && (await tx.get('blobs', sha))) await tx.put('photos', { ...photo, sent: 0, done: 0 });
      }
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
      const rows = await tx.all('ops');
      await tx.clear('ops');
      let n = 0;
      for (const row of rows) {
        if (row.n <= base) await tx.put('past', { id: row.op.id, device, ...row });
        else await tx.put('ops', { ...row, n: ++n, op: { ...row.op, n } });
      }
      await tx.put('meta', { ...counter, device: name, last: n, recent: [] }, 'counter');
      await tx.put('meta', nobody, 'acked');
    });
  }

  /** Frees what can be fetched again and pictures that the office has. Nothing unsent is ever touched. */
  async makeRoom() {
    await this.db.note(['photos', 'blobs', 'others'], async (tx) => {
      await tx.clear('others');
      for (const p of await tx.all('photos')) if (p.done) await tx.delete('blobs', p.sha);
    });
  }

  /** Drops what the office has had for long. Only after a push of this same epoch confirmed it. */
  async prune() {
    const now = this.now();
    await this.db.note(['ops', 'past', 'meta', 'photos', 'blobs'], async (tx) => {
      const { through } = (await tx.get('meta', 'acked')) ?? nobody;
      for (const row of await tx.all('ops', { to: through })) if (now - row.saved > KEEP_ROWS) await tx.delete('ops', row.n);
      for (const row of await tx.all('past')) if (now - row.saved > KEEP_ROWS) await tx.delete('past', row.id);
      for (const p of await tx.all('photos')) if (p.done && now - p.done > KEEP_PHOTOS) await tx.delete('blobs', p.sha);
    });
  }
}

/** @param {import('./db.js').Tx} tx @param {Picture} p */
async function keepPicture(tx, { sha, size, type, bytes }) {
  if (await tx.get('photos', sha)) return;
  await tx.put('blobs', bytes, sha);
  await tx.put('photos', { sha, size, type, sent: 0, done: 0 });
}

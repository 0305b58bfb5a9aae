// Sending photos in pieces, each photo named by the digest of its bytes. A piece that was cut is sent on from where the
// office says it stands.

import { Stop, whole0 } from './net.js';
import { hex } from './ids.js';

export const PIECE = 256 * 1024;
export const LARGE_PIECE = 1024 * 1024;
const QUICK = 3000;
const AT_ONCE = 2;
const MOST_TURNS = 6;
const REST = 3600_000;

/** @typedef {{sha: string, size: number, type: string, sent: number, done: number, refused?: number}} Photo */

/** The offset that an answer names, or -1. @param {Headers} headers @param {number} size */
function offsetOf(headers, size) {
  const text = headers.get('Upload-Offset');
  const n = /^\d+$/.test(text ?? '') ? Number(text) : -1;
  return whole0(n) && n <= size ? n : -1;
}

const complete = (headers) => headers.get('Upload-Complete') === '?1';

export class PictureSender {
  /**
   * @param {{db: import('./db.js').Store, net: import('./net.js').Net, now?: () => number, sleep?: (ms: number) => Promise<void>,
   *   digest?: (bytes: ArrayBuffer) => Promise<string>}} parts
   */
  constructor({ db, net, now = Date.now, sleep = (ms) => new Promise((r) => setTimeout(r, ms)), digest = sha256 }) {
    Object.assign(this, { db, net, now, sleep, digest, piece: PIECE, unsure: new Set() });
  }

  /** Sends every photo that the office lacks, two at a time at most. */
  async all() {
    const photos = await this.db.read(['photos'], (tx) => tx.all('photos'));
    const queue = photos.filter((p) => !p.done && !this.resting(p));
    const work = async () => { while (queue.length > 0) await this.one(queue.shift()); };
    const ends = await Promise.allSettled(Array.from({ length: AT_ONCE }, work));
    const failed = ends.find((e) => e.status === 'rejected');
    if (failed) throw failed.reason;
  }

  /** A photo that was refused rests for a while; a clock that was set back does not make it rest for years. @param {Photo} photo */
  resting({ refused = 0 }) {
    const waited = this.now() - refused;
    return waited >= 0 && waited < REST;
  }

  /** @param {Photo} photo */
  async one(photo) {
    const bytes = await this.db.read(['blobs'], (tx) => tx.get('blobs', photo.sha));
    if (!bytes) return;
    let at = photo.sent;
    for (let turns = 0; turns < MOST_TURNS;) {
      if (this.unsure.has(photo.sha)) at = await this.ask(photo);
      if (at === photo.size && photo.done) return;
      const [next, done] = await this.patch(photo, bytes, at);
      if (done) return this.mark(photo, photo.size, this.now());
      if (next < 0) return this.refuse(photo);
      if (next <= at) turns++;
      at = next;
      await this.mark(photo, at, 0);
    }
    return this.refuse(photo);
  }

  /** The office can't take this one: it stays on the phone, is tried again later, and holds up nothing else. */
  async refuse(photo) {
    photo.refused = this.now();
    await this.mark(photo, 0, 0);
  }

  /** Sends one piece. @returns {Promise<[number, boolean]>} where to go on, -1 when the photo can't be taken, and whether the office has it whole */
  async patch(photo, bytes, at) {
    const part = bytes.slice(at, at + this.piece);
    const headers = {
      'Content-Type': 'application/partial-upload', 'Upload-Offset': String(at), 'Upload-Length': String(photo.size), 'Upload-Media-Type': photo.type,
    };
    const began = this.now();
    this.unsure.add(photo.sha);
    const answer = await this.net.call(this.url(photo), { method: 'PATCH', headers, body: part, size: part.byteLength });
    const offset = offsetOf(answer.headers, photo.size);
    switch (answer.status) {
      case 204:
        if (offset < 0) throw new Stop('no-answer');
        this.unsure.delete(photo.sha);
        if (this.now() - began < QUICK) this.piece = Math.min(LARGE_PIECE, this.piece * 2);
        return [offset, complete(answer.headers) && offset === photo.size];
      case 409:
        return this.elsewhere(photo, offset, at);
      case 422:
        return this.again(photo, bytes);
      case 507:
        throw new Stop('no-room', 0, 507);
      case 400:
      case 413:
      case 415:
        if (typeof answer.json?.error === 'string') return [-1, false];
    }
    this.piece = PIECE;
    throw new Stop('no-answer', 0, answer.status);
  }

  /** The office stands elsewhere; without an offset another connection is still sending this photo. */
  async elsewhere(photo, offset, at) {
    if (offset >= 0) {
      this.unsure.delete(photo.sha);
      return [offset, false];
    }
    await this.sleep(2000);
    return [at, false];
  }

  /** The digest differed. Bytes that changed on the phone can't be mended by sending them again. */
  async again(photo, bytes) {
    this.unsure.delete(photo.sha);
    return [(await this.digest(bytes)) === photo.sha ? 0 : -1, false];
  }

  /** @param {Photo} photo @returns {Promise<number>} */
  async ask(photo) {
    const answer = await this.net.call(this.url(photo), { method: 'HEAD' });
    if (answer.status === 404) return 0;
    if (answer.status < 300 && offsetOf(answer.headers, Infinity) > photo.size) return 0; // bytes of another photo: it begins anew when told so
    const offset = offsetOf(answer.headers, photo.size);
    if (answer.status >= 300 || offset < 0) throw new Stop('no-answer', 0, answer.status);
    this.unsure.delete(photo.sha);
    if (complete(answer.headers)) await this.mark(photo, photo.size, this.now());
    return offset;
  }

  url(photo) {
    return `/api/v1/photos/${photo.sha}`;
  }

  /** @param {Photo} photo @param {number} sent @param {number} done  when it was complete, 0 before */
  async mark(photo, sent, done) {
    photo.sent = sent;
    photo.done = done;
    await this.db.note(['photos'], (tx) => tx.put('photos', { ...photo }));
  }
}

/** @param {ArrayBuffer} bytes */
export async function sha256(bytes) {
  return hex(new Uint8Array(await crypto.subtle.digest('SHA-256', bytes)));
}

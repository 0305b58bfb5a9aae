// Sending what was recorded. The office answers with one number: everything of this phone up to it is durable there.

import { PROTO } from './proto.js';
import { Stop, whole0 } from './net.js';
import { isOther } from './outbox.js';

export const SMALL = 20;
export const LARGE = 500;
const MOST_BYTES = 900_000;
const PACK_OVER = 2048;
const QUICK = 2000;
const MOST_FORKS = 3;
const MOST_STILL = 5;

/**
 * @typedef {{epoch: string, through: number, seq: number, now: string, attention: any[], clash: number[], photos_missing: string[]}} Reply
 * @typedef {import('./outbox.js').Row} Row
 */

/** The office's answer when it has our form, else null. @param {any} json @returns {Reply|null} */
export function readReply(json) {
  if (!json || typeof json.epoch !== 'string' || json.epoch === '') return null;
  if (!whole0(json.through) || !whole0(json.seq) || !Number.isFinite(Date.parse(json.now))) return null;
  const list = (v) => (Array.isArray(v) ? v : []);
  return {
    epoch: json.epoch, through: json.through, seq: json.seq, now: json.now, attention: list(json.attention),
    clash: list(json.clash).filter(whole0), photos_missing: list(json.photos_missing).filter((s) => typeof s === 'string'),
  };
}

/** The longest head of rows that is a run from `from` and fits into one request. @param {Row[]} rows */
export function fit(rows, from) {
  const run = [];
  let bytes = 0;
  for (const row of rows) {
    const text = JSON.stringify(row.op);
    bytes += text.length;
    if (row.n !== from + run.length || (run.length > 0 && bytes > MOST_BYTES)) break;
    run.push(text);
  }
  return run;
}

/** Packs a long body when the browser can. @param {string} text */
async function packed(text) {
  const plain = { body: text, headers: { 'Content-Type': 'application/json' }, size: text.length };
  if (text.length <= PACK_OVER || typeof CompressionStream === 'undefined') return plain;
  const stream = new Blob([text]).stream().pipeThrough(new CompressionStream('gzip'));
  const body = await new Response(stream).arrayBuffer();
  return { body, headers: { ...plain.headers, 'Content-Encoding': 'gzip' }, size: body.byteLength };
}

export class Pusher {
  /** @param {{outbox: import('./outbox.js').Outbox, net: import('./net.js').Net, app?: string, now?: () => number}} parts */
  constructor({ outbox, net, app = '', now = Date.now }) {
    Object.assign(this, { outbox, net, app, now, size: SMALL });
  }

  /** Sends until the office has everything. Returns the last reply, null when this phone has never recorded anything. */
  async all() {
    let reply = null;
    this.forks = 0;
    this.still = 0;
    this.size = Math.min(this.size, SMALL);
    for (let more = true; more;) {
      const state = await this.outbox.state();
      if (!state.device) return null;
      [reply, more] = await this.run(state, reply !== null);
    }
    return reply;
  }

  /**
   * Sends from the confirmed number on until nothing is left or the phone's numbers changed under it.
   * @returns {Promise<[Reply|null, boolean]>} the last reply, and whether to look at the phone's state again
   */
  async run(state, asked) {
    let from = state.acked.through + 1;
    let rows = await this.outbox.rows(from, this.size);
    let reply = null;
    while (rows.length > 0 || !asked) {
      if (rows.length > 0 && rows[0].n !== from) return this.fork(state.device, from - 1);
      const batch = fit(rows.slice(0, this.size), from);
      const last = from + batch.length - 1;
      const ahead = this.outbox.rows(last + 1, Math.min(LARGE, this.size * 2));
      ahead.catch(() => {});
      const answer = await this.send(state, batch);
      asked = true;
      if (answer.status === 413) { this.halve(batch.length); continue; }
      if (answer.status === 409 && answer.json?.fork === true) return this.twice(state, from - 1);
      if (answer.status === 409) return this.hole(state, answer.json, from);
      reply = answer.status === 200 ? readReply(answer.json) : null;
      if (!reply) this.unanswered(answer.status);
      if (reply.through > last) return this.beyond(state, reply, last);
      if (await this.take(state, reply)) return [reply, true];
      this.moved(reply.through >= from);
      rows = reply.through === last ? await ahead : await this.outbox.rows(reply.through + 1, this.size);
      from = reply.through + 1;
    }
    return [reply, false];
  }

  /** @param {string[]} batch */
  async send(state, batch) {
    const sent = new Date(this.now()).toISOString();
    const unsent = Math.max(0, state.last - state.acked.through);
    const head = JSON.stringify({ proto: PROTO, app: this.app, device: state.device, epoch: state.acked.epoch, sent, unsent });
    const { size, ...init } = await packed(`${head.slice(0, -1)},"ops":[${batch.join(',')}]}`);
    const began = this.now();
    try {
      const answer = await this.net.call('/api/v1/ops', { method: 'POST', size, ...init });
      if (this.now() - began < QUICK) this.size = Math.min(LARGE, this.size * 2);
      return answer;
    } catch (err) {
      if (err.kind === 'no-answer') this.size = Math.max(1, this.size >> 1);
      throw err;
    }
  }

  /** @returns {never} */
  unanswered(status) {
    this.size = Math.max(1, this.size >> 1);
    throw new Stop('no-answer', 0, status);
  }

  halve(sent) {
    if (sent <= 1) throw new Stop('no-answer', 0, 413);
    this.size = Math.max(1, sent >> 1);
  }

  /** An office that never gets further must not be asked for ever. */
  moved(forward) {
    this.still = forward ? 0 : this.still + 1;
    if (this.still > MOST_STILL) throw new Stop('no-answer');
  }

  /** The office has less than this phone remembered: it goes on from where the office stands. */
  async hole(state, json, from) {
    if (!whole0(json?.through) || json.through >= from) this.unanswered(409);
    this.moved(false);
    await this.outbox.stepBack(state.device, json.through);
    return [null, true];
  }

  /**
   * A number of this phone is used with another id. An empty push asks how far the office has the name; everything that
   * both don't share gets a new one.
   */
  async twice(state, acked) {
    const { through, epoch } = (await this.send(state, [])).json ?? {};
    if (epoch !== state.acked.epoch) return this.fork(state.device, 0);
    return this.fork(state.device, whole0(through) ? Math.min(acked, through) : acked);
  }

  /**
   * The office claims more than was sent. It may have it from another tab, or from a push whose answer was lost; more than this
   * phone ever gave out means that the phone was rolled back. An office not spoken to before must show itself first.
   */
  async beyond(state, reply, last) {
    const known = reply.epoch === state.acked.epoch;
    if (!known && !(await this.shown(reply.epoch))) this.unanswered(200);
    const given = (await this.outbox.state()).last;
    if (known || given >= reply.through) await this.take(state, { ...reply, through: last });
    return given >= reply.through ? [reply, true] : this.fork(state.device, known ? last : 0);
  }

  /** Whether an answer of another shape speaks of the same office: no café's page knows both. */
  async shown(epoch) {
    const { status, json } = await this.net.call('/api/v1/feed?since=0&limit=1');
    return status === 200 && json?.epoch === epoch && whole0(json.next);
  }

  async fork(device, base) {
    if (++this.forks > MOST_FORKS) throw new Stop('no-answer', 0, 409);
    await this.outbox.fork(device, base);
    return [null, true];
  }

  /** Notes an answer. @param {Reply} reply @returns {Promise<boolean>} whether the phone's numbers changed by it */
  async take(state, reply) {
    await this.outbox.confirm({ ...reply, device: state.device });
    if (!isOther(state.acked, reply)) return false;
    await this.outbox.gather(state.device);
    return true;
  }
}

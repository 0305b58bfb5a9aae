// An office in memory that speaks the protocol, and the ways a network has of lying about it.

import { createHash } from 'node:crypto';
import { gunzipSync } from 'node:zlib';

const json = (status, value, headers = {}) => new Response(JSON.stringify(value), { status, headers: { 'Content-Type': 'application/json', ...headers } });

export class Office {
  constructor() {
    this.epoch = 'epoch-1';
    this.reset();
    this.pushes = [];
    this.signedIn = true;
    this.photos = new Map();
    this.lacking = [];
    this.person = { id: 'p1', name: 'Robin', role: 'crew', lang: 'en' };
    this.packVersion = 1;
    this.edition = 'edition1';
  }

  reset() {
    this.ops = new Map();
    this.numbers = new Map();
    this.through = new Map();
    this.seq = 0;
  }

  /** A backup taken now; restoring it forgets what came later. */
  backup() {
    const { ops, numbers, through, seq } = this;
    return structuredClone({ ops, numbers, through, seq });
  }

  restore(backup, epoch) {
    Object.assign(this, structuredClone(backup), { epoch });
  }

  fetch = async (url, init = {}) => {
    const path = String(url);
    if (!this.signedIn) return json(401, { error: 'sign_in', say: 'Sign in.' });
    if (path === '/api/v1/ops') return this.push(JSON.parse(await bodyText(init)));
    if (path === '/api/v1/me') return json(200, this.person);
    if (path.startsWith('/api/v1/feed')) return this.feed(new URL(path, 'http://x').searchParams);
    if (path === '/api/v1/pack') return this.tagged(init, `pack-${this.epoch}-${this.packVersion}`, this.pack());
    if (path === '/api/v1/knowledge.json') return this.tagged(init, this.edition, { checks: [], edition: this.edition });
    if (path.startsWith('/api/v1/photos/')) return this.photo(path.slice(15), init);
    return new Response('not here', { status: 404 });
  };

  push({ device, ops, epoch }) {
    this.pushes.push(ops.map((o) => o.n));
    const through = this.through.get(device) ?? 0;
    if (ops.length > 0 && ops[0].n > through + 1) return json(409, { through });
    if (ops.some((o) => { const had = this.numbers.get(`${device} ${o.n}`); return had && had !== o.id; })) return json(409, { fork: true });
    for (const o of ops) {
      this.numbers.set(`${device} ${o.n}`, o.id);
      if (!this.ops.has(o.id)) this.ops.set(o.id, { ...o, device, seq: ++this.seq });
    }
    const now = Math.max(through, ops.at(-1)?.n ?? 0);
    this.through.set(device, now);
    return json(200, this.reply(now));
  }

  reply(through) {
    return { epoch: this.epoch, through, seq: this.seq, now: new Date(1_790_000_000_000).toISOString(), attention: [], clash: [], photos_missing: this.lacking };
  }

  feed(query) {
    const same = query.get('epoch') === this.epoch;
    const since = same ? Number(query.get('since')) : 0;
    const rows = [...this.ops.values()].filter((o) => o.seq > since).map((o) => ({ seq: o.seq, id: o.id, device: o.device, stamp: o.hlc, op: o }));
    return json(200, { epoch: this.epoch, next: this.seq, more: false, rows, gone: [] });
  }

  pack() {
    return { epoch: this.epoch, seq: this.seq, person: this.person, firm: { name: 'F', units: 'us' }, now: new Date(1_790_000_000_000).toISOString(), edition: 'edition1', days: [], visits: [], properties: [], clients: [], zones: [], readings: [], diagnoses: [], version: this.packVersion };
  }

  tagged(init, tag, value) {
    if (new Headers(init.headers).get('If-None-Match') === `"${tag}"`) return new Response(null, { status: 304 });
    return json(200, value, { ETag: `"${tag}"` });
  }

  photo(sha, init) {
    const had = this.photos.get(sha) ?? { bytes: Buffer.alloc(0), complete: false };
    const state = (h, status = 204) => new Response(null, { status, headers: { 'Upload-Offset': String(h.bytes.length), 'Upload-Complete': h.complete ? '?1' : '?0' } });
    if (init.method === 'HEAD') return state(had, 200);
    const headers = new Headers(init.headers);
    if (had.complete) return state(had);
    if (had.bytes.length > Number(headers.get('Upload-Length'))) { this.photos.delete(sha); return json(422, { error: 'invalid', say: 'longer than the photo' }); }
    if (Number(headers.get('Upload-Offset')) !== had.bytes.length) return state(had, 409);
    const next = { bytes: Buffer.concat([had.bytes, Buffer.from(init.body)]), complete: false };
    if (next.bytes.length === Number(headers.get('Upload-Length'))) {
      if (createHash('sha256').update(next.bytes).digest('hex') !== sha) { this.photos.delete(sha); return json(422, { error: 'invalid', say: 'damaged' }); }
      next.complete = true;
    }
    this.photos.set(sha, next);
    return state(next);
  }

  /** The rows of one device in the order of their numbers. */
  numbersOf(device) {
    return [...this.ops.values()].filter((o) => o.device === device).map((o) => o.n).sort((a, b) => a - b);
  }
}

async function bodyText(init) {
  if (new Headers(init.headers).get('Content-Encoding') !== 'gzip') return init.body;
  return gunzipSync(Buffer.from(init.body)).toString();
}

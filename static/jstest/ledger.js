// The office of the simulation: the rules of a push, a feed, a packet and photos, all or nothing, in memory. It can be put
// back to an earlier backup, and it remembers what it ever acknowledged.

const COPY = ['ops', 'numbers', 'through', 'photos', 'wants'];

export class Ledger {
  /** @param {{digest: (bytes: ArrayBuffer|Buffer) => string, now: () => number, chance: () => number}} world */
  constructor({ digest, now, chance }) {
    Object.assign(this, { digest, now, chance, epoch: 'epoch-1', restores: 0 });
    this.state = { seq: 0, ops: new Map(), numbers: new Map(), through: new Map(), photos: new Map(), wants: new Map() };
    this.clashes = [];
    this.signedIn = true;
    this.tooOld = false;
    this.person = { id: 'p1', name: 'Robin', role: 'crew', lang: 'en' };
  }

  /** A state to change; it counts from commit on. */
  fork(state = this.state) {
    return { seq: state.seq, ...Object.fromEntries(COPY.map((k) => [k, new Map(state[k])])) };
  }

  backup() {
    return this.fork();
  }

  restore(backup) {
    this.state = this.fork(backup);
    this.epoch = `epoch-${++this.restores + 1}`;
  }

  /** Answers one request; commit says whether what it changed is durable. @returns {{status: number, headers: object, body: any}} */
  answer(url, init, commit) {
    const path = String(url);
    if (!this.signedIn) return say(401, { error: 'sign_in', say: 'Sign in.' });
    if (path === '/api/v1/ops') return this.tooOld ? say(426, { error: 'outdated', say: 'Old.' }) : this.push(JSON.parse(init.body), commit);
    if (path === '/api/v1/me') return say(200, this.person);
    if (path.startsWith('/api/v1/feed')) return this.feed(new URL(path, 'http://x').searchParams);
    if (path === '/api/v1/pack') return tagged(init, `pack-${this.epoch}-${this.state.seq >> 3}`, () => this.pack());
    if (path === '/api/v1/knowledge.json') return tagged(init, 'edition1', () => ({ checks: [] }));
    return this.photo(path.slice('/api/v1/photos/'.length), init, commit);
  }

  push({ device, ops, sent }, commit) {
    const s = this.fork();
    const had = s.through.get(device) ?? 0;
    if (ops.length > 0 && ops[0].n > had + 1) return say(409, this.reply(had));
    const attention = [];
    const clash = [];
    for (const op of ops) {
      const key = `${device} ${op.n}`;
      if (op.n <= had && s.numbers.get(key) !== op.id) return say(409, { ...this.reply(had), fork: true });
      s.numbers.set(key, op.id);
      const text = content(op);
      const there = s.ops.get(op.id);
      if (!there) s.ops.set(op.id, { op, text, device, seq: ++s.seq, stamp: op.hlc, aside: op.body.typed.startsWith('odd') });
      else if (there.text !== text) clash.push(op.n);
      if (s.ops.get(op.id).aside) attention.push({ n: op.n, id: op.id, code: 'unreadable', say: 'Look.' });
      for (const p of op.photos) s.wants.set(`${device} ${p.sha}`, { device, sha: p.sha });
    }
    const through = Math.max(had, ops.at(-1)?.n ?? 0);
    s.through.set(device, through);
    this.clashes.push(...clash);
    if (commit()) this.state = s;
    void sent;
    return say(200, { ...this.reply(through), attention, clash, photos_missing: missing(s, device) });
  }

  reply(through) {
    return { epoch: this.epoch, through, seq: this.state.seq, now: new Date(this.now()).toISOString(), attention: [], clash: [], photos_missing: [] };
  }

  feed(query) {
    const since = query.get('epoch') === this.epoch ? Number(query.get('since')) : 0;
    const all = [...this.state.ops.values()].filter((o) => o.seq > since);
    const page = all.slice(0, 9);
    const rows = page.map((o) => ({ seq: o.seq, id: o.op.id, device: o.device, stamp: o.stamp, aside: o.aside, op: o.op }));
    return say(200, { epoch: this.epoch, next: all.length > page.length ? page.at(-1).seq : this.state.seq, more: all.length > page.length, rows, gone: [] });
  }

  pack() {
    const readings = [...this.state.ops.values()].filter((o) => !o.aside).map((o) => ({ seq: o.seq, id: o.op.id, ...o.op.body, author: o.op.author, device: o.device, at: o.op.at, stamp: o.stamp, base: o.op.base }));
    const lists = Object.fromEntries(['days', 'visits', 'properties', 'clients', 'zones', 'diagnoses'].map((k) => [k, []]));
    return { epoch: this.epoch, seq: this.state.seq, person: this.person, firm: { name: 'F', units: 'us' }, now: new Date(this.now()).toISOString(), edition: 'edition1', readings, ...lists };
  }

  photo(sha, init, commit) {
    const had = this.state.photos.get(sha) ?? { bytes: Buffer.alloc(0), complete: false };
    const stands = (p, status = 204) => ({ status, headers: { 'Upload-Offset': String(p.bytes.length), 'Upload-Complete': p.complete ? '?1' : '?0' }, body: null });
    if (init.method === 'HEAD' || had.complete) return stands(had);
    if (Number(init.headers['Upload-Offset']) !== had.bytes.length) return stands(had, 409);
    const next = { bytes: Buffer.concat([had.bytes, Buffer.from(init.body)]), complete: false };
    const whole = next.bytes.length === Number(init.headers['Upload-Length']);
    const damaged = whole && this.digest(next.bytes) !== sha;
    next.complete = whole && !damaged;
    const s = this.fork();
    if (damaged) s.photos.delete(sha);
    else s.photos.set(sha, next);
    if (commit()) this.state = s;
    return damaged ? say(422, { error: 'invalid', say: 'damaged' }) : stands(next);
  }
}

/** What an operation says, whatever number it travels under. */
function content(op) {
  return JSON.stringify({ ...op, n: 0 });
}

function missing(s, device) {
  return [...s.wants.values()].filter((w) => w.device === device && !s.photos.get(w.sha)?.complete).map((w) => w.sha);
}

function say(status, body, headers = {}) {
  return { status, headers: { 'Content-Type': 'application/json', ...headers }, body: JSON.stringify(body) };
}

function tagged(init, tag, make) {
  if (init.headers?.['If-None-Match'] === `"${tag}"`) return { status: 304, headers: {}, body: null };
  return say(200, make(), { ETag: `"${tag}"` });
}

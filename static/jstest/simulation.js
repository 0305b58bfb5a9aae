// One run of the simulated world: phones record and sync while everything fails that can, then all is calm, and what the
// screens called kept must be at the office, once.

import { createHash } from 'node:crypto';
import { load, View } from '../js/view.js';
import { Disk, Locks, Tab, Time, seeded } from './simulated.js';
import { Ledger } from './ledger.js';

const START = 1_790_000_000_000;
const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
const DAY = 24 * HOUR;

const digest = (bytes) => createHash('sha256').update(Buffer.from(bytes)).digest('hex');
const nothing = { status: 0, headers: {}, body: null };

/** What lies between a phone and the office. */
class Network {
  constructor(world) {
    this.world = world;
  }

  fetch(tab, url, init) {
    const { world } = this;
    const { time, chance, rates } = world;
    return new Promise((resolve, reject) => {
      const lost = () => reject(new TypeError('no connection'));
      init.signal.addEventListener('abort', lost);
      const slow = () => (world.hit(rates.late) ? 20_000 + chance() * 100_000 : chance() * 900);
      if (world.hit(rates.drop)) return time.after(slow(), lost);
      const arrive = (answered) => () => {
        const answer = world.atOffice(url, init);
        const dies = world.hit(rates.lost);
        time.after(slow(), () => (!answered || dies || answer === nothing ? lost() : resolve(this.heard(answer))));
      };
      time.after(slow(), arrive(true));
      if (world.hit(rates.twice)) time.after(slow() * 3, () => world.atOffice(url, init));
      return undefined;
    });
  }

  /** What the phone hears of an answer: all of it, a part of it, or somebody else's words. */
  heard(answer) {
    const { world } = this;
    if (world.hit(world.rates.lie)) return response(lies[Math.floor(world.chance() * lies.length)]);
    if (answer.body && world.hit(world.rates.cut)) return response({ ...answer, body: answer.body.slice(0, Math.floor(world.chance() * answer.body.length)) });
    return response(answer);
  }
}

const page = { 'Content-Type': 'text/html' };
const json = { 'Content-Type': 'application/json' };
const lies = [
  { status: 200, headers: page, body: '<html>welcome to the café</html>' },
  { status: 502, headers: page, body: '<html>bad gateway</html>' },
  { status: 401, headers: page, body: '<html>sign in to the café</html>' },
  { status: 200, headers: json, body: '' },
  { status: 200, headers: json, body: '{}' },
  { status: 200, headers: json, body: '{"through":999999}' },
  { status: 204, headers: {}, body: null },
  { status: 503, headers: { 'Retry-After': '7' }, body: 'busy' },
  { status: 413, headers: json, body: '{"error":"too_large","say":"x"}' },
  { status: 409, headers: json, body: '{"error":"conflict"}' },
  { status: 200, headers: json, body: JSON.stringify({ epoch: 'café', through: 999999, seq: 1, now: new Date(START).toISOString() }) },
];

function response({ status, headers, body }) {
  return { status, redirected: false, headers: new Headers(headers), text: async () => body ?? '', arrayBuffer: async () => Buffer.from(body ?? '') };
}

class Phone {
  constructor(world, disk) {
    Object.assign(this, { world, disk, wrong: 0, tabs: [], locks: world.chance() < 0.6 ? new Locks() : null, off: false, full: false });
  }

  open() {
    this.tabs.push(new Tab(this));
    return this.tabs.at(-1);
  }

  live() {
    return this.tabs.filter((t) => t.alive);
  }
}

export class World {
  /** @param {number} seed @param {{log?: (text: string) => void, spoil?: (tab: Tab) => void}} [more]  spoil puts a fault into our own modules */
  constructor(seed, { log = () => {}, spoil = () => {} } = {}) {
    this.spoil = spoil;
    this.chance = seeded(seed);
    this.time = new Time(START);
    this.log = (text) => log(`${((this.time.now - START) / 1000).toFixed(1)}s ${text}`);
    this.digest = digest;
    this.office = new Ledger({ digest, now: () => this.time.now, chance: this.chance });
    this.network = new Network(this);
    this.calm = false;
    this.busy = false;
    this.phones = [];
    this.backups = [];
    this.kept = new Map();
    this.tried = new Set();
    this.refused = new Set();
    this.excused = new Set();
    this.freed = new Set();
    this.faults = {};
    const some = (most) => (this.chance() < 0.5 ? this.chance() * most : 0);
    this.rates = {
      drop: some(0.4), lost: some(0.4), cut: some(0.3), twice: some(0.3), late: some(0.2), lie: some(0.2), before: some(0.2), after: some(0.2),
      killedBefore: some(0.05), killedAfter: some(0.05), again: some(0.2), full: some(0.2),
    };
  }

  hit(rate) {
    return !this.calm && this.chance() < rate;
  }

  count(fault) {
    this.faults[fault] = (this.faults[fault] ?? 0) + 1;
  }

  /** What goes wrong with a write of a phone. */
  writeFault(tab, kind) {
    if (this.calm) return '';
    const fault = this.hit(this.rates.killedBefore) ? 'killed before' : this.hit(this.rates.killedAfter) ? 'killed after'
      : (tab.phone.full || this.hit(this.rates.full)) && kind === 'keep' ? 'full' : this.hit(this.rates.again) ? 'again' : '';
    if (fault) this.count(fault);
    if (fault === 'full') tab.phone.asked = true;
    return fault;
  }

  /** A phone that was full gives up pictures which the office has; an office that forgets them later can't get them back. */
  written(phone, before, after) {
    if (phone.asked && before.blobs !== after.blobs) for (const sha of before.blobs.keys()) if (!after.blobs.has(sha)) this.freed.add(sha);
    if (before.blobs !== after.blobs) phone.asked = false;
  }

  /** The office works on a request; it may be killed before or after what it took in is durable. */
  atOffice(url, init) {
    const before = this.hit(this.rates.before);
    const after = this.hit(this.rates.after);
    if (this.busy && !this.calm) return { status: 503, headers: { 'Retry-After': '3' }, body: '' };
    const answer = this.office.answer(url, init, () => !before);
    if (before || after) this.count(before ? 'office killed before commit' : 'office killed after commit');
    return before || after ? nothing : answer;
  }

  killed(tab) {
    this.time.after(1000 + this.chance() * 20_000, () => { if (!tab.phone.off && tab.phone.live().length === 0) tab.phone.open(); });
  }

  /** A person records something; the screen says kept only when the save is through. */
  async record(tab) {
    const token = `${this.tried.size}`;
    this.tried.add(token);
    const typed = (this.chance() < 0.1 ? 'odd ' : '') + token;
    const photos = this.chance() < 0.12 ? [this.picture()] : [];
    const body = { visit: 'v', zone: `z${token % 2}`, check: `c${token % 3}`, typed, edition: 'e' };
    try {
      const row = await tab.outbox.record('reading', body, photos);
      this.kept.set(row.op.id, { op: row.op, photos });
    } catch {
      this.refused.add(token);
    }
    tab.syncer.saved();
  }

  picture() {
    const size = this.chance() < 0.1 ? 300_000 : 50;
    const bytes = new Uint8Array(size).fill(Math.floor(this.chance() * 256));
    bytes[0] = this.tried.size;
    return { sha: digest(bytes), size, type: 'image/jpeg', bytes: bytes.buffer };
  }

  /** Something happens to a phone. */
  accident(phone) {
    const { chance, time } = this;
    const kinds = {
      'power cut': () => { for (const t of phone.live()) t.kill(); phone.disk.powerCut(chance); },
      'second tab': () => { if (phone.live().length < 2) phone.open(); },
      'clock jump': () => { phone.wrong = [-5 * HOUR, 3 * 365 * DAY, 0, (chance() - 0.5) * DAY, 40 * MINUTE][Math.floor(chance() * 5)]; },
      'storage full': () => { phone.full = true; time.after(chance() * 2 * MINUTE, () => { phone.full = false; }); },
      'profile copied': () => { if (this.phones.length < 6) this.begin(new Phone(this, phone.disk.copy()), 4); },
      'phone put back': () => this.putBack(phone),
      'page closed': () => { for (const t of phone.live()) t.kill(); },
    };
    const names = Object.keys(kinds);
    const name = names[Math.floor(chance() * names.length)];
    this.log(`phone ${this.phones.indexOf(phone)}: ${name}`);
    this.count(name);
    kinds[name]();
  }

  /** A backup of the whole phone is put back: what it recorded since is gone with the phone, unless the office has it. */
  putBack(phone) {
    if (!phone.was) return;
    for (const t of phone.live()) t.kill();
    const there = idsOn(phone.was);
    for (const id of idsOn(phone.disk.data)) if (!there.has(id)) this.excused.add(id);
    phone.disk.data = phone.was;
    phone.disk.since = [];
  }

  /** Something happens to the office. */
  upset() {
    const { office, chance, time } = this;
    const kinds = {
      backup: () => this.backups.push(office.backup()),
      restore: () => { if (this.backups.length > 0 && office.restores < 3) office.restore(this.backups[Math.floor(chance() * this.backups.length)]); },
      'sign-in ran out': () => { office.signedIn = false; time.after(chance() * MINUTE, () => { office.signedIn = true; }); },
      'new release': () => { office.tooOld = true; time.after(chance() * MINUTE, () => { office.tooOld = false; }); },
      'too busy': () => { this.busy = true; time.after(chance() * MINUTE, () => { this.busy = false; }); },
      'another person': () => { office.person = { ...office.person, id: `p${1 + Math.floor(chance() * 3)}` }; },
      'weeks later': () => { this.backups = []; time.now += 40 * DAY; },
    };
    const names = Object.keys(kinds);
    const name = names[Math.floor(chance() * names.length)];
    this.log(`office: ${name}`);
    this.count(name);
    kinds[name]();
  }

  begin(phone, readings) {
    this.phones.push(phone);
    phone.open();
    for (let i = 0; i < readings; i++) {
      this.time.after(this.chance() * 4 * MINUTE, () => {
        const tabs = phone.live();
        if (tabs.length > 0) this.record(tabs[Math.floor(this.chance() * tabs.length)]);
      });
    }
    this.time.after(this.chance() * 2 * MINUTE, () => { phone.was = structuredClone(phone.disk.data); });
  }

  /** The bad part of the day. */
  async storm() {
    const { chance, time } = this;
    for (let i = 1 + Math.floor(chance() * 3); i > 0; i--) this.begin(new Phone(this, new Disk()), 4 + Math.floor(chance() * 9));
    for (let i = Math.floor(chance() * 7); i > 0; i--) time.after(chance() * 4 * MINUTE, () => this.accident(this.phones[Math.floor(chance() * this.phones.length)]));
    for (let i = Math.floor(chance() * 7); i > 0; i--) time.after(chance() * 4 * MINUTE, () => this.upset());
    await time.until(time.now + 5 * MINUTE);
  }

  /** Everything works again, for long enough. */
  async rest() {
    this.calm = true;
    Object.assign(this.office, { signedIn: true, tooOld: false });
    for (const phone of this.phones) {
      phone.full = false;
      if (phone.live().length === 0) phone.open();
    }
    for (let round = 0; round < 5; round++) {
      for (const phone of this.phones) for (const tab of phone.live()) tab.syncer.tapped();
      await this.time.until(this.time.now + MINUTE);
      if (round === 2) this.time.now += HOUR; // a photo that was refused is tried again after an hour
    }
    for (const phone of this.phones) for (const tab of phone.live().slice(1)) tab.kill();
    this.phones.forEach((p) => { p.off = true; });
  }

  /** @returns {Promise<string[]>} every law that was broken */
  async broken() {
    const wrong = [];
    const { ops, photos } = this.office.state;
    for (const [id, { op, photos: pictures }] of this.kept) {
      const there = ops.get(id);
      if (!there && !this.excused.has(id)) wrong.push(`${id} (${op.body.typed}) was called kept and is not at the office`);
      if (there && there.text !== JSON.stringify({ ...op, n: 0 })) wrong.push(`${id} reached the office as something else`);
      for (const p of pictures) {
        const got = photos.get(p.sha);
        if (there && !this.excused.has(id) && !this.freed.has(p.sha) && !(got?.complete && digest(got.bytes) === p.sha)) wrong.push(`a photo of ${id} is not at the office`);
      }
    }
    const tokens = new Map();
    for (const { op } of ops.values()) {
      const token = op.body.typed.replace('odd ', '');
      if (tokens.has(token)) wrong.push(`${op.body.typed} is at the office twice`);
      tokens.set(token, op.id);
      if (!this.tried.has(token)) wrong.push(`nobody recorded ${op.body.typed}`);
      if (this.refused.has(token)) wrong.push(`${op.body.typed} was called not kept and is at the office`);
    }
    wrong.push(...this.holes(), ...this.office.clashes.map((n) => `number ${n} was called a clash`));
    for (const [i, phone] of this.phones.entries()) wrong.push(...(await this.brokenOn(phone)).map((w) => `phone ${i}: ${w}`));
    return wrong;
  }

  /** Rows of a phone are exactly 1…through. */
  holes() {
    const wrong = [];
    const { through, numbers, ops } = this.office.state;
    for (const [device, last] of through) {
      for (let n = 1; n <= last; n++) if (!ops.has(numbers.get(`${device} ${n}`))) wrong.push(`${device} lacks number ${n} of ${last}`);
      if (numbers.has(`${device} ${last + 1}`)) wrong.push(`${device} has more than ${last}`);
    }
    return wrong;
  }

  async brokenOn(phone) {
    const wrong = [];
    const tab = phone.live()[0];
    if (!tab) return ['nobody opened it'];
    let answer;
    const work = (async () => ({ unsent: await tab.outbox.unsent(), known: await load(tab.db), waiting: await tab.db.read(['photos'], (tx) => tx.all('photos')) }))().then((a) => { answer = a; });
    await this.time.until(this.time.now + 1000);
    await work;
    const { unsent, known, waiting } = answer;
    if (unsent.length > 0) wrong.push(`${unsent.length} are still unsent`);
    if (waiting.some((p) => !p.done)) wrong.push('a photo is still unsent');
    const view = new View(known);
    const mine = new Set(known.rows.map((r) => r.op.id));
    const want = [...this.office.state.ops.values()].filter((o) => !o.aside || mine.has(o.op.id)).map((o) => o.op.id).sort();
    const shown = [...view.readings.keys()].sort();
    if (JSON.stringify(shown) !== JSON.stringify(want)) wrong.push(`it shows ${shown.length} readings, the office has ${want.length} for it`);
    for (const row of known.rows) {
      const odd = this.office.state.ops.get(row.op.id)?.aside;
      if (odd && !known.marks[row.op.id]) wrong.push(`${row.op.body.typed} was set aside and the phone does not say so`);
    }
    return wrong;
  }
}

function idsOn(data) {
  return new Set([...data.ops.values(), ...data.past.values()].map((r) => r.op.id));
}

/** Runs one seed. @returns {Promise<{wrong: string[], kept: number, faults: Record<string, number>}>} */
export async function simulate(seed, more) {
  const world = new World(seed, more);
  await world.storm();
  await world.rest();
  const wrong = await world.broken();
  return { wrong, kept: world.kept.size, faults: world.faults };
}

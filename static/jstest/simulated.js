// A world in which phones and an office live under one clock that only moves when told, with chance from one seed: the
// same seed is the same world again. The phones run the real modules; the disk, the network and the office can fail.

import { Outbox } from '../js/outbox.js';
import { Syncer } from '../js/sync.js';
import { STORES } from '../js/db.js';
import { Memory } from './memory.js';

/** Repeatable chance between 0 and 1. @param {number} seed */
export function seeded(seed) {
  let a = seed >>> 0;
  return () => {
    a = (a + 0x6d2b79f5) | 0;
    let t = Math.imul(a ^ (a >>> 15), 1 | a);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32;
  };
}

const named = (name) => Object.assign(new Error(name), { name });
export const forever = new Promise(() => {});

/** The one clock. What is planned runs in the order of its time. */
export class Time {
  constructor(start) {
    this.now = start;
    this.plans = [];
    this.count = 0;
  }

  /** @param {number} wait @param {() => void} fn */
  after(wait, fn) {
    const plan = { at: this.now + Math.max(0, wait), order: this.count++, fn };
    let i = this.plans.length;
    while (i > 0 && (this.plans[i - 1].at < plan.at || (this.plans[i - 1].at === plan.at && this.plans[i - 1].order < plan.order))) i--;
    this.plans.splice(i, 0, plan);
    return plan;
  }

  cancel(plan) {
    const i = this.plans.indexOf(plan);
    if (i >= 0) this.plans.splice(i, 1);
  }

  sleep(wait) {
    return new Promise((done) => this.after(wait, done));
  }

  /** Runs everything planned up to a moment. Between two plans all that follows from the first has happened. */
  async until(end) {
    const settled = () => new Promise((done) => setImmediate(done));
    await settled();
    while (this.plans.length > 0 && this.plans.at(-1).at <= end) {
      const plan = this.plans.pop();
      this.now = Math.max(this.now, plan.at);
      plan.fn();
      await settled();
    }
    this.now = Math.max(this.now, end);
  }
}

/** What goes in and out as a copy, since the modules may change it; the rest they only replace. */
const COPIED = new Set(['meta', 'photos', 'ops', 'past']);

/** The small transaction of db.js over maps that are this transaction's own. */
class Part {
  constructor(data) {
    this.data = data;
  }

  async get(store, key) {
    const v = this.data[store].get(key);
    return COPIED.has(store) ? structuredClone(v) : v;
  }

  async put(store, value, key) {
    this.data[store].set(STORES[store] ? value[STORES[store]] : key, COPIED.has(store) ? structuredClone(value) : value);
  }

  async delete(store, key) {
    this.data[store].delete(key);
  }

  async clear(store) {
    this.data[store].clear();
  }

  async all(store, { from = -Infinity, to = Infinity, limit = Infinity } = {}) {
    const found = [];
    for (const [key, v] of this.data[store]) if (typeof key !== 'number' || (key >= from && key <= to)) found.push([key, v]);
    found.sort(([a], [b]) => (a < b ? -1 : 1));
    return found.slice(0, limit).map(([, v]) => (COPIED.has(store) ? structuredClone(v) : v));
  }
}

/** A phone's disk: what is kept is there after a power cut, what is noted perhaps. */
export class Disk extends Memory {
  constructor() {
    super('swardbook');
    this.since = [];
  }

  copy() {
    const other = new Disk();
    other.data = structuredClone(this.data);
    return other;
  }

  /** One transaction of one tab, with whatever goes wrong with it. */
  async transact(tab, kind, names, fn) {
    const { world } = tab;
    const turn = this.last;
    let leave;
    this.last = new Promise((done) => { leave = done; });
    await turn;
    try {
      await world.time.sleep(world.chance() * 8);
      const fault = !tab.alive || kind === 'read' ? '' : world.writeFault(tab, kind);
      if (fault === 'killed before') tab.kill();
      if (fault === 'full') throw named('QuotaExceededError');
      if (fault === 'again') await this.work(tab, names, fn); // the connection broke: nothing of it is there, and it is done again
      const done = tab.alive ? await this.work(tab, names, fn) : null;
      if (done && kind !== 'read') {
        world.written(tab.phone, this.data, done.data);
        this.commit(kind, done.data);
      }
      if (fault === 'killed after') tab.kill();
      return done?.result;
    } finally {
      leave();
    }
  }

  /** @returns {Promise<{result: any, data: any}|null>} null when the tab died on the way */
  async work(tab, names, fn) {
    const data = Object.fromEntries(Object.entries(this.data).map(([s, m]) => [s, names.includes(s) ? new Map(m) : m]));
    const work = fn(new Part(data)).then((result) => ({ result, data }));
    return Promise.race([work, tab.died]);
  }

  commit(kind, data) {
    if (kind === 'keep') this.since = [];
    else this.since.push(this.data);
    this.data = data;
    this.saves[kind]++;
  }

  /** The power goes: of the notes since the last save any number of the newest are gone. */
  powerCut(chance) {
    const states = [...this.since, this.data];
    this.data = states[Math.floor(chance() * states.length)];
    this.since = [];
  }

  empty() {
    return Object.keys(STORES).every((s) => this.data[s].size === 0);
  }
}

/** One tab of one phone: the real modules over the phone's disk, until it is killed. */
export class Tab {
  constructor(phone) {
    const { world } = phone;
    Object.assign(this, { phone, world, alive: true });
    this.died = new Promise((done) => { this.die = () => done(null); });
    const db = { name: 'swardbook', second: false };
    for (const kind of ['read', 'keep', 'note']) db[kind] = (names, fn) => (this.alive ? this.settled(phone.disk.transact(this, kind, names, fn)) : forever);
    const now = () => world.time.now + phone.wrong;
    const random = (n) => Uint8Array.from({ length: n }, () => Math.floor(world.chance() * 256));
    const setTimer = (fn, ms) => world.time.after(ms, () => { if (this.alive) fn(); });
    const clearTimer = (plan) => world.time.cancel(plan);
    this.db = db;
    this.outbox = new Outbox(db, { now, random, offset: () => 120 });
    this.syncer = new Syncer({ db, outbox: this.outbox, app: 'simulated' }, {
      fetch: (url, init) => world.network.fetch(this, url, init), now, chance: world.chance, locks: phone.locks && phone.locks.of(this),
      setTimer, clearTimer, sleep: (ms) => world.time.sleep(ms),
    });
    this.syncer.pictures.digest = async (bytes) => world.digest(bytes);
    world.spoil(this);
    this.syncer.kick(0);
  }

  /** A dead tab hears nothing any more. */
  settled(promise) {
    return new Promise((resolve, reject) => {
      promise.then((v) => { if (this.alive) resolve(v); }, (e) => { if (this.alive) reject(e); });
    });
  }

  /** The tab is gone at once; the person opens the page again some time later. */
  kill() {
    if (!this.alive) return;
    this.alive = false;
    this.die();
    this.phone.locks?.drop(this);
    this.world.killed(this);
  }
}

/** The browser's locks as far as syncing uses them. */
export class Locks {
  constructor() {
    this.holder = null;
  }

  drop(tab) {
    if (this.holder === tab) this.holder = null;
  }

  of(tab) {
    return {
      request: async (name, options, fn) => {
        if (this.holder) return fn(null);
        this.holder = tab;
        try {
          return await fn({ name });
        } finally {
          this.drop(tab);
        }
      },
    };
  }
}

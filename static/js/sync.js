// When to sync, and what comes first: rows, then photos, then what others recorded. Nothing here is needed for
// correctness; it may stop anywhere and start again.

import { Net, Stop } from './net.js';
import { Pusher } from './push.js';
import { PictureSender } from './pictures.js';
import { Puller } from './pull.js';

const LONGEST = 60_000;
const REGULAR = 60_000;
const SOON = 250;

/** Waiting with full jitter: somewhere between nothing and the bound, which doubles. */
export function backoff(tries, chance) {
  return chance() * Math.min(LONGEST, 1000 * 2 ** tries);
}

/** One syncer of all tabs when the browser has locks; without them several run, which costs time only. */
export async function alone(locks, name, fn) {
  if (!locks) return fn();
  return locks.request(name, { ifAvailable: true }, (lock) => (lock ? fn() : undefined));
}

export class Syncer {
  /**
   * @param {{db: import('./db.js').Store, outbox: import('./outbox.js').Outbox, app?: string,
   *   hold?: () => Promise<(() => void)|null>, pulls?: boolean, tell?: (state: {busy: boolean, result: string}) => void}} parts
   * @param {{fetch?: typeof fetch, now?: () => number, chance?: () => number, locks?: LockManager|null,
   *   setTimer?: typeof setTimeout, clearTimer?: typeof clearTimeout, sleep?: (ms: number) => Promise<void>}} [world]
   */
  constructor({ db, outbox, app = '', hold = async () => () => {}, pulls = true, tell = () => {} }, world = {}) {
    const { now = Date.now, chance = Math.random, locks = globalThis.navigator?.locks ?? null } = world;
    const { setTimer = (f, ms) => setTimeout(f, ms), clearTimer = (t) => clearTimeout(t) } = world;
    const net = new Net({ fetch: world.fetch, now, setTimer: world.setTimer, clearTimer: world.clearTimer });
    Object.assign(this, { db, outbox, hold, pulls, tell, now, chance, locks, setTimer, clearTimer });
    this.pusher = new Pusher({ outbox, net, app, now });
    this.pictures = new PictureSender({ db, net, now, sleep: world.sleep });
    this.puller = new Puller({ db, net, packed: () => this.tell({ busy: true, result: 'packet' }) });
    this.tries = 0;
    this.quietUntil = 0;
    this.timer = null;
    this.running = null;
    this.again = false;
  }

  /** Listens for every sign that a sync may get through. The timer alone would do. @param {boolean} [synced]  whether one ran just now */
  listen(synced = false, page = globalThis) {
    const kick = () => this.kick();
    page.addEventListener('online', kick);
    page.document.addEventListener('visibilitychange', () => { if (page.document.visibilityState === 'visible') kick(); });
    if (!synced) this.kick(0);
  }

  /** The signal may be back: try soon, unless the office asked to be left alone for a while. */
  kick(wait = SOON) {
    this.plan(Math.max(wait, this.quietUntil - this.now()));
  }

  /** Something was saved. A retry that is already planned stays where it is, so that saves don't make a storm. */
  saved() {
    if (this.running) this.again = true;
    else if (this.tries === 0) this.kick();
  }

  /** A person's tap: at once, and the waiting starts from the beginning. @returns {Promise<string>} */
  tapped() {
    this.tries = 0;
    return this.go();
  }

  plan(wait) {
    if (this.timer !== null) this.clearTimer(this.timer);
    this.timer = this.setTimer(() => { this.timer = null; this.go(); }, wait);
  }

  /** Runs one sync, or marks the running one to be followed by another. Never throws. @returns {Promise<string>} */
  go() {
    if (this.running) {
      this.again = true;
      return this.running;
    }
    this.running = this.guarded().finally(() => { this.running = null; });
    return this.running;
  }

  async guarded() {
    const result = await this.attempt();
    if (this.again && result === 'ok') {
      this.again = false;
      this.plan(SOON);
    }
    return result;
  }

  async attempt() {
    this.again = false;
    try {
      const done = await alone(this.locks, `swardbook-sync-${this.db.name}`, () => this.once());
      this.tries = 0;
      this.plan(done ? REGULAR : 2000 + this.chance() * 3000);
      return done ?? 'elsewhere';
    } catch (err) {
      return this.failed(err);
    }
  }

  async failed(err) {
    const kind = err instanceof Stop ? err.kind : 'phone';
    const wait = err.wait ?? 0;
    if (wait > 0) this.quietUntil = this.now() + wait;
    this.plan(wait > 0 ? wait : backoff(++this.tries, this.chance));
    await this.finish(kind).catch(() => {});
    return kind;
  }

  async once() {
    this.tell({ busy: true, result: '' });
    const { epoch } = (await this.outbox.state()).acked;
    const reply = await this.pusher.all();
    await this.pictures.all();
    if (this.pulls) await this.puller.all(this.hold);
    if (reply && reply.epoch === epoch) await this.outbox.prune();
    await this.finish('ok');
    return 'ok';
  }

  async finish(result) {
    const at = this.now();
    await this.db.note(['meta'], (tx) => tx.put('meta', { at, result }, 'sync'));
    this.tell({ busy: false, result });
  }
}

// A phone for tests: a store in memory, a clock that only moves when told, and an office to talk to.

import { Outbox } from '../js/outbox.js';
import { Syncer } from '../js/sync.js';
import { Memory } from './memory.js';
import { Office } from './office.js';

export const START = 1_790_000_000_000;

/** Repeatable chance. */
export function chances(seed = 1) {
  let x = seed;
  return () => {
    x = (Math.imul(x, 1664525) + 1013904223) >>> 0;
    return x / 2 ** 32;
  };
}

/** @param {{office?: Office, db?: Memory, seed?: number, fetch?: typeof fetch, locks?: any, pulls?: boolean}} [opts] */
export function phone({ office = new Office(), db = new Memory(), seed = 1, fetch, locks = null, pulls = true, hold } = {}) {
  const clock = { ms: START };
  const chance = chances(seed);
  const random = (n) => Uint8Array.from({ length: n }, () => Math.floor(chance() * 256));
  const outbox = new Outbox(db, { now: () => clock.ms, random, offset: () => 120 });
  const planned = [];
  const setTimer = (fn, ms) => { planned.push({ fn, ms }); return planned.length; };
  const world = { fetch: fetch ?? office.fetch, now: () => clock.ms, chance, locks, setTimer, clearTimer: () => {}, sleep: async () => {} };
  const syncer = new Syncer({ db, outbox, app: 'b1', pulls, hold }, world);
  const write = (typed = '2', photos = []) => outbox.record('reading', { visit: 'v', zone: 'z', check: 'c', typed, edition: 'e' }, photos);
  return { office, db, clock, outbox, syncer, planned, write, random };
}

/** Records n readings. */
export async function readings(p, n) {
  for (let i = 0; i < n; i++) await p.write(String(i));
}

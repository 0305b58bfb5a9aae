// A store in memory with the same small interface as db.js: transactions one after the other, all or nothing. Faults can
// be put in: fail(names) is asked before each transaction and may throw.

import { STORES } from '../js/db.js';

/** @param {any} a @param {any} b */
const order = (a, b) => (a < b ? -1 : a > b ? 1 : 0);

class Tx {
  constructor(data, names) {
    this.data = data;
    this.names = names;
  }

  of(store) {
    if (!this.names.includes(store)) throw new Error(`${store} is not in this transaction`);
    return this.data[store];
  }

  async get(store, key) {
    return structuredClone(this.of(store).get(key));
  }

  async put(store, value, key) {
    const at = STORES[store] ? value[STORES[store]] : key;
    if (at === undefined) throw new Error(`no key for ${store}`);
    this.of(store).set(at, structuredClone(value));
  }

  async delete(store, key) {
    this.of(store).delete(key);
  }

  async clear(store) {
    this.of(store).clear();
  }

  async all(store, { from, to, limit = Infinity } = {}) {
    const keys = [...this.of(store).keys()].filter((k) => (from === undefined || k >= from) && (to === undefined || k <= to)).sort(order);
    return keys.slice(0, limit).map((k) => structuredClone(this.of(store).get(k)));
  }
}

export class Memory {
  constructor(name = 'memory') {
    this.name = name;
    this.second = false;
    this.data = Object.fromEntries(Object.keys(STORES).map((s) => [s, new Map()]));
    this.last = Promise.resolve();
    this.saves = { keep: 0, note: 0 };
    this.fail = () => {};
  }

  run(kind, names, fn) {
    const work = this.last.then(async () => {
      this.fail(kind, names);
      const copy = kind === 'read' ? this.data : Object.fromEntries(Object.entries(this.data).map(([s, m]) => [s, new Map(m)]));
      const result = await fn(new Tx(copy, names));
      this.data = copy;
      if (kind !== 'read') this.saves[kind]++;
      return result;
    });
    this.last = work.catch(() => {});
    return work;
  }

  read(names, fn) { return this.run('read', names, fn); }
  keep(names, fn) { return this.run('keep', names, fn); }
  note(names, fn) { return this.run('note', names, fn); }

  /** What a copied profile holds. */
  copy() {
    const other = new Memory(this.name);
    other.data = structuredClone(this.data);
    return other;
  }
}

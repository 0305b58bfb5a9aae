// The phone's store: a small wrapper round IndexedDB that never calls a save done before it is on the disk.
//
// read(names, fn)  reads
// keep(names, fn)  saves what a person recorded: strict durability, done only when the transaction is complete
// note(names, fn)  bookkeeping and caches: relaxed, losing it means asking or sending again
//
// fn gets a small transaction and may await nothing but its requests. It may be run twice, so it must be safe to repeat.

/**
 * @typedef {object} Tx
 * @property {(store: string, key: any) => Promise<any>} get
 * @property {(store: string, value: any, key?: any) => Promise<void>} put
 * @property {(store: string, key: any) => Promise<void>} delete
 * @property {(store: string) => Promise<void>} clear
 * @property {(store: string, range?: {from?: any, to?: any, limit?: number}) => Promise<any[]>} all
 *
 * @typedef {object} Store
 * @property {string} name
 * @property {boolean} second  true when the first database could not be opened and this is the other one
 * @property {(names: string[], fn: (tx: Tx) => Promise<any>) => Promise<any>} read
 * @property {(names: string[], fn: (tx: Tx) => Promise<any>) => Promise<any>} keep
 * @property {(names: string[], fn: (tx: Tx) => Promise<any>) => Promise<any>} note
 */

export const FIRST = 'swardbook';
export const SECOND = 'swardbook-2';
export const VERSION = 1;

/** Stores and their key paths; null means the key is given beside the value. An upgrade only ever adds to this. */
export const STORES = {
  ops: 'n', past: 'id', meta: null, pack: null, others: 'seq', photos: 'sha', blobs: null, drafts: null,
};

const SILENCE = 10_000;
const BROKEN = new Set(['InvalidStateError', 'UnknownError', 'AbortError', 'SilentError']);

/** @param {string} name @param {string} text */
function failure(name, text) {
  const err = new Error(text);
  err.name = name;
  return err;
}

/** @param {IDBRequest} request */
function answer(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

/** @param {{from?: any, to?: any}} range @returns {IDBKeyRange|undefined} */
function keys({ from, to }) {
  if (from !== undefined && to !== undefined) return IDBKeyRange.bound(from, to);
  if (from !== undefined) return IDBKeyRange.lowerBound(from);
  if (to !== undefined) return IDBKeyRange.upperBound(to);
  return undefined;
}

/** @param {IDBTransaction} tx @returns {Tx} */
function small(tx) {
  return {
    get: (store, key) => answer(tx.objectStore(store).get(key)),
    put: (store, value, key) => answer(STORES[store] ? tx.objectStore(store).put(value) : tx.objectStore(store).put(value, key)),
    delete: (store, key) => answer(tx.objectStore(store).delete(key)),
    clear: (store) => answer(tx.objectStore(store).clear()),
    all: (store, range = {}) => answer(tx.objectStore(store).getAll(keys(range), range.limit)),
  };
}

/** Creates what is missing; never rewrites a row. @param {IDBDatabase} db */
function upgrade(db) {
  for (const [name, keyPath] of Object.entries(STORES)) {
    if (!db.objectStoreNames.contains(name)) db.createObjectStore(name, keyPath ? { keyPath } : {});
  }
}

/**
 * Opens a database once; without a version it is opened as it is, and none is made.
 * @param {IDBFactory} factory @param {string} name @param {() => void} blocked @param {number} [version] @returns {Promise<IDBDatabase>}
 */
function openOnce(factory, name, blocked, version) {
  return new Promise((resolve, reject) => {
    const request = version ? factory.open(name, version) : factory.open(name);
    const timer = setTimeout(() => reject(failure('SilentError', 'the store did not answer')), SILENCE);
    const settle = (fn) => (value) => { clearTimeout(timer); fn(value); };
    request.onupgradeneeded = () => (version ? upgrade(request.result) : request.transaction.abort());
    request.onblocked = blocked;
    request.onerror = settle(() => reject(request.error));
    request.onsuccess = settle(() => resolve(request.result));
  });
}

/**
 * Runs one transaction on one handle. Success is the transaction's complete event and nothing earlier.
 * @param {IDBTransaction} tx @param {(tx: Tx) => Promise<any>} fn
 */
function run(tx, fn) {
  return new Promise((resolve, reject) => {
    let cause;
    const timer = setTimeout(() => { stop(tx); reject(failure('SilentError', 'the store did not answer')); }, SILENCE);
    const work = Promise.resolve().then(() => fn(small(tx)));
    work.then(() => finish(tx), (err) => { cause = err; stop(tx); });
    tx.oncomplete = () => { clearTimeout(timer); work.then(resolve, reject); };
    tx.onabort = () => { clearTimeout(timer); reject(cause && cause.name !== 'AbortError' ? cause : tx.error ?? cause ?? failure('AbortError', 'the save was stopped')); };
  });
}

/** Says that nothing more comes, so that the store need not ask. @param {IDBTransaction} tx */
function finish(tx) {
  try { tx.commit?.(); } catch { /* it has ended already */ }
}

/** @param {IDBTransaction} tx */
function stop(tx) {
  try { tx.abort(); } catch { /* it has ended already */ }
}

/** A handle that is opened when needed, dropped when the browser takes it away, and opened again once on a failure. */
class Handle {
  /** @param {IDBFactory} factory @param {string} name @param {() => void} blocked @param {number} [version] */
  constructor(factory, name, blocked, version) {
    this.version = version;
    this.factory = factory;
    this.name = name;
    this.blocked = blocked;
    this.opening = null;
  }

  db() {
    this.opening ??= openOnce(this.factory, this.name, this.blocked, this.version).then((db) => this.watch(db));
    this.opening.catch(() => { this.opening = null; });
    return this.opening;
  }

  /** @param {IDBDatabase} db */
  watch(db) {
    db.onclose = () => { this.opening = null; };
    db.onversionchange = () => { this.opening = null; db.close(); };
    return db;
  }

  async drop() {
    const old = this.opening;
    this.opening = null;
    if (old) await old.then((db) => db.close(), () => {});
  }

  /** @param {(db: IDBDatabase) => IDBTransaction} begin @param {(tx: Tx) => Promise<any>} fn */
  async attempt(begin, fn) {
    const db = await this.db();
    return run(begin(db), fn);
  }

  /** The handle is never trusted: one failure of the connection reopens it and repeats the whole transaction. */
  async twice(begin, fn) {
    try {
      return await this.attempt(begin, fn);
    } catch (err) {
      if (!BROKEN.has(err?.name)) throw err;
      await this.drop();
      return this.attempt(begin, fn);
    }
  }
}

/** @param {Handle} handle @param {boolean} second @returns {Store} */
function store(handle, second) {
  return {
    name: handle.name,
    second,
    read: (names, fn) => handle.twice((db) => db.transaction(names, 'readonly'), fn),
    keep: (names, fn) => handle.twice((db) => db.transaction(names, 'readwrite', { durability: 'strict' }), fn),
    note: (names, fn) => handle.twice((db) => db.transaction(names, 'readwrite', { durability: 'relaxed' }), fn),
  };
}

/**
 * Opens one database by name, trying twice.
 * @param {string} name @param {{factory?: IDBFactory, blocked?: () => void}} [opts] @returns {Promise<Store>}
 */
export async function openNamed(name, { factory = globalThis.indexedDB, blocked = () => {} } = {}) {
  const handle = new Handle(factory, name, blocked, VERSION);
  try {
    await handle.db();
  } catch (err) {
    if (err?.name === 'VersionError') throw err;
    await handle.db();
  }
  return store(handle, name === SECOND);
}

/**
 * Opens the phone's store. When the first database can't be opened the second takes what is recorded from now on; the
 * first stays untouched for a rescue. A newer database than this code knows is not a damaged one: the caller says "reload".
 * @param {{factory?: IDBFactory, blocked?: () => void}} [opts] @returns {Promise<Store>}
 */
export async function open(opts = {}) {
  try {
    return await openNamed(FIRST, opts);
  } catch (err) {
    if (err?.name === 'VersionError') throw err;
    return openNamed(SECOND, opts);
  }
}

/** The second database, when an earlier bad day left one behind. @returns {Promise<Store|null>} */
export async function leftover(factory = globalThis.indexedDB) {
  if (!factory.databases) return null;
  const names = await factory.databases().catch(() => []);
  return names.some((d) => d.name === SECOND) ? openNamed(SECOND, { factory }) : null;
}

/**
 * Every store of this phone that can still be read, as it is, whatever its version: for a copy when a page can't start.
 * @returns {Promise<Store[]>}
 */
export async function asTheyAre(factory = globalThis.indexedDB) {
  const stores = [];
  for (const name of [FIRST, SECOND]) {
    const handle = new Handle(factory, name, () => {});
    if (await handle.db().then(() => true, () => false)) stores.push(store(handle, name === SECOND));
  }
  return stores;
}

import test, { mock } from 'node:test';
import assert from 'node:assert/strict';
import { asTheyAre, open, openNamed, FIRST, SECOND } from '../js/db.js';

globalThis.IDBKeyRange = {};

const named = (name, text = name) => Object.assign(new Error(text), { name });

/** A browser's database as far as db.js uses it; behave says what each transaction does in turn. */
function factory({ behave = [], opens = {} } = {}) {
  const seen = { opened: [], begun: [], closed: 0, handles: [] };
  const transaction = (names, mode, options) => {
    seen.begun.push({ names, mode, options });
    const how = behave.shift() ?? 'complete';
    if (how instanceof Error) throw how;
    const tx = {
      error: null,
      abort: () => { tx.error ??= named('AbortError'); queueMicrotask(() => tx.onabort?.()); },
      objectStore: () => ({ put: () => { const r = {}; setImmediate(() => r.onsuccess()); return r; } }),
    };
    if (how === 'complete') setImmediate(() => setImmediate(() => setImmediate(() => tx.oncomplete())));
    if (how.abort) setImmediate(() => setImmediate(() => setImmediate(() => { tx.error = how.abort; tx.onabort(); })));
    return tx;
  };
  return {
    seen,
    open: (name) => {
      seen.opened.push(name);
      const request = {};
      const fault = opens[name]?.shift();
      setImmediate(() => {
        if (fault) { request.error = fault; return request.onerror(); }
        request.result = { transaction, close: () => { seen.closed++; }, name };
        seen.handles.push(request.result);
        request.onsuccess();
      });
      return request;
    },
  };
}

const save = (db) => db.keep(['drafts'], (tx) => tx.put('drafts', 'x', 'k'));

test('what is kept is strict, notes are relaxed, reading asks for nothing', async () => {
  const f = factory();
  const db = await openNamed(FIRST, { factory: f });
  await save(db);
  await db.note(['drafts'], (tx) => tx.put('drafts', 'x', 'k'));
  await db.read(['drafts'], async () => {});
  assert.deepEqual(f.seen.begun.map((b) => [b.mode, b.options?.durability]), [['readwrite', 'strict'], ['readwrite', 'relaxed'], ['readonly', undefined]]);
});

for (const name of ['InvalidStateError', 'UnknownError']) {
  test(`${name}: the handle is opened again once and the whole transaction repeated`, async () => {
    const f = factory({ behave: [named(name)] });
    const db = await openNamed(FIRST, { factory: f });
    await save(db);
    assert.equal(f.seen.begun.length, 2);
    assert.deepEqual(f.seen.opened, [FIRST, FIRST]);
  });
  test(`${name} twice is said and not swallowed`, async () => {
    const f = factory({ behave: [named(name), named(name)] });
    const db = await openNamed(FIRST, { factory: f });
    await assert.rejects(save(db), { name });
    assert.equal(f.seen.begun.length, 2);
  });
}

test('a store that never answers is given up after ten seconds, reopened, and the save repeated', async () => {
  const f = factory({ behave: ['silent'] });
  const db = await openNamed(FIRST, { factory: f });
  mock.timers.enable({ apis: ['setTimeout'] });
  const done = save(db);
  for (let i = 0; i < 5; i++) await new Promise((r) => setImmediate(r));
  mock.timers.tick(9_999);
  await new Promise((r) => setImmediate(r));
  assert.equal(f.seen.opened.length, 1);
  mock.timers.tick(2);
  await done;
  mock.timers.reset();
  assert.equal(f.seen.opened.length, 2);
});

test('a full phone may say so only at the end: the request had succeeded, the save had not', async () => {
  const f = factory({ behave: [{ abort: named('QuotaExceededError') }] });
  const db = await openNamed(FIRST, { factory: f });
  await assert.rejects(save(db), { name: 'QuotaExceededError' });
  assert.equal(f.seen.begun.length, 1, 'a full phone is not a broken handle');
});

test('a fault in the work stops the transaction and is the reason given', async () => {
  const f = factory({ behave: ['silent'] });
  const db = await openNamed(FIRST, { factory: f });
  await assert.rejects(db.keep(['drafts'], async () => { throw named('TypeError', 'no'); }), { name: 'TypeError' });
});

test('a handle that the browser closed, or that an update needs closed, is opened anew', async () => {
  const f = factory();
  const db = await openNamed(FIRST, { factory: f });
  f.seen.handles[0].onversionchange();
  assert.equal(f.seen.closed, 1);
  await save(db);
  f.seen.handles[1].onclose();
  await save(db);
  assert.equal(f.seen.opened.length, 3);
});

test('a database that can not be opened leaves recording to the second', async () => {
  const f = factory({ opens: { [FIRST]: [named('UnknownError'), named('UnknownError')] } });
  const db = await open({ factory: f });
  assert.deepEqual([db.name, db.second], [SECOND, true]);
  assert.deepEqual(f.seen.opened, [FIRST, FIRST, SECOND]);
});

test('one failure to open is tried again', async () => {
  const db = await open({ factory: factory({ opens: { [FIRST]: [named('UnknownError')] } }) });
  assert.equal(db.second, false);
});

test('a newer database is not a damaged one', async () => {
  await assert.rejects(open({ factory: factory({ opens: { [FIRST]: [named('VersionError')] } }) }), { name: 'VersionError' });
});

test('A9 a copy can be saved when no page can start: stores are opened as they are, and none is made', async () => {
  const seen = [];
  const fake = factory();
  const asked = { ...fake, open: (name, version) => {
    seen.push([name, version]);
    if (name === FIRST) return fake.open(name);
    const request = { transaction: { abort: () => { request.error = named('AbortError'); request.onerror(); } } };
    setImmediate(() => request.onupgradeneeded());
    return request;
  } };
  const stores = await asTheyAre(asked);
  assert.deepEqual(stores.map((s) => s.name), [FIRST]);
  assert.deepEqual(seen, [[FIRST, undefined], [SECOND, undefined]], 'no version is asked for');
});

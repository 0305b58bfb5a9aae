import test from 'node:test';
import assert from 'node:assert/strict';
import { phone, readings, START } from './world.js';
import { saveCopies } from '../js/copy.js';
import { uuid4, uuid7, tick, heard, localTime, wellFormed, readClock } from '../js/ids.js';

test('numbers have no holes, also when two tabs save at once', async () => {
  const p = phone();
  const other = phone({ db: p.db, seed: 9 });
  await Promise.all(Array.from({ length: 40 }, (_, i) => (i % 2 ? p : other).write(String(i))));
  const rows = await p.outbox.unsent();
  assert.deepEqual(rows.map((r) => r.n), Array.from({ length: 40 }, (_, i) => i + 1));
  assert.equal(new Set(rows.map((r) => r.op.id)).size, 40);
});

test('what a person recorded goes through a strict save, bookkeeping does not', async () => {
  const p = phone();
  await readings(p, 3);
  assert.deepEqual(p.db.saves, { keep: 3, note: 0 });
  await p.syncer.go();
  assert.equal(p.db.saves.keep, 3);
});

test('a row carries its author, time with offset and clock, and never changes', async () => {
  const p = phone();
  await p.db.note(['meta'], (tx) => tx.put('meta', { id: 'p1' }, 'me'));
  const row = await p.write('2 1/2');
  const before = JSON.stringify(row.op);
  await p.syncer.go();
  await p.db.note(['meta'], (tx) => tx.put('meta', { id: 'p2' }, 'me'));
  const [kept] = await p.outbox.everything();
  assert.equal(JSON.stringify(kept.op), before);
  assert.equal(kept.op.author, 'p1');
  assert.match(kept.op.at, /\+02:00$/);
  assert.equal(Date.parse(kept.op.at), START);
  assert.match(kept.op.hlc, /^[0-9a-f]{12}-[0-9a-f]{4}-[0-9a-f]{4}$/);
  assert.equal((await p.write('3')).op.author, 'p2');
});

test('a photo and its reading are both there or both not', async () => {
  const p = phone();
  const picture = { sha: 'ab', size: 3, type: 'image/jpeg', bytes: new Uint8Array([1, 2, 3]).buffer };
  p.db.fail = (kind) => { if (kind === 'keep') throw Object.assign(new Error('full'), { name: 'QuotaExceededError' }); };
  await assert.rejects(p.write('ab', [picture]), { name: 'QuotaExceededError' });
  p.db.fail = () => {};
  assert.equal((await p.outbox.unsent()).length, 0);
  assert.equal(p.db.data.blobs.size, 0);
  const row = await p.write('ab', [picture]);
  assert.equal(row.n, 1);
  assert.deepEqual(row.op.photos, [{ sha: 'ab', size: 3, type: 'image/jpeg' }]);
  assert.equal(p.db.data.blobs.size, 1);
});

test('a full phone gives up caches and confirmed photos first, then saves', async () => {
  const p = phone();
  await p.db.note(['others', 'photos', 'blobs'], async (tx) => {
    await tx.put('others', { seq: 1 });
    await tx.put('photos', { sha: 'old', size: 1, type: 'image/jpeg', sent: 1, done: START });
    await tx.put('blobs', new ArrayBuffer(1), 'old');
    await tx.put('photos', { sha: 'new', size: 1, type: 'image/jpeg', sent: 0, done: 0 });
    await tx.put('blobs', new ArrayBuffer(1), 'new');
  });
  let first = true;
  p.db.fail = (kind) => {
    if (kind !== 'keep' || !first) return;
    first = false;
    throw Object.assign(new Error('full'), { name: 'QuotaExceededError' });
  };
  await p.write('2');
  assert.equal((await p.outbox.unsent()).length, 1);
  assert.deepEqual([...p.db.data.blobs.keys()], ['new']);
  assert.equal(p.db.data.others.size, 0);
});

test('a save that is repeated after a broken connection is saved once', async () => {
  const p = phone();
  const keep = p.db.keep.bind(p.db);
  p.db.keep = async (names, fn) => { await keep(names, fn); return keep(names, fn); };
  const row = await p.write('2');
  assert.equal(row.n, 1);
  assert.equal((await p.outbox.unsent()).length, 1);
});

test('a fork renames what is not shared, keeps ids, and leaves no hole', async () => {
  const p = phone();
  await readings(p, 5);
  const { device } = await p.outbox.state();
  const ids = (await p.outbox.unsent()).map((r) => r.op.id);
  await p.outbox.fork(device, 2);
  const rows = await p.outbox.unsent();
  assert.deepEqual(rows.map((r) => [r.n, r.op.n, r.op.id]), [[1, 1, ids[2]], [2, 2, ids[3]], [3, 3, ids[4]]]);
  assert.notEqual((await p.outbox.state()).device, device);
  assert.equal((await p.outbox.everything()).length, 5);
  assert.equal((await p.write('x')).n, 4);
  await p.outbox.fork(device, 0);
  assert.equal((await p.outbox.unsent()).length, 4, 'a second tab that heard of the same fork changes nothing');
});

test('pruning never touches what is unsent', async () => {
  const p = phone();
  await readings(p, 3);
  const { device } = await p.outbox.state();
  await p.outbox.confirm({ device, through: 2, epoch: 'e', now: new Date(START).toISOString() });
  p.clock.ms += 40 * 24 * 3600_000;
  await p.outbox.prune();
  assert.deepEqual((await p.outbox.everything()).map((r) => r.n), [3]);
  assert.equal((await p.write('x')).n, 4);
});

test('the foot line counts what waits and what came today', async () => {
  const p = phone();
  await readings(p, 5);
  const { device } = await p.outbox.state();
  await p.outbox.confirm({ device, through: 3, epoch: 'e', now: new Date(START).toISOString() });
  assert.deepEqual(await p.outbox.counts(START - 1000), { kept: 5, received: 3, unsent: 2, oldest: START, at: START });
  assert.equal((await p.outbox.counts(START + 1)).kept, 2);
});

test('names and clocks', () => {
  const random = (n) => new Uint8Array(n).fill(0xff);
  assert.match(uuid4(random), /^[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  assert.match(uuid7(START, random), /^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  assert.ok(uuid7(START, random) < uuid7(START + 1, (n) => new Uint8Array(n)));
  let last = tick('', START, 'device-abcd');
  assert.ok(last.endsWith('-abcd'));
  for (const jump of [-5000, 0, 0, 10, -1_000_000]) {
    const next = tick(last, START + jump, 'device-abcd');
    assert.ok(next > last, 'the clock never goes back');
    last = next;
  }
  assert.equal(readClock(heard(last, START + 60_000, START, 'd-abcd')).ms, START + 60_000);
  assert.equal(heard(last, START + 3600_000, START, 'd'), last, 'an office an hour off does not move the clock');
  assert.equal(localTime(Date.UTC(2026, 8, 21, 6, 30, 11, 120), 120), '2026-09-21T08:30:11.120+02:00');
  assert.equal(localTime(Date.UTC(2026, 8, 21, 6, 30, 11, 120), -210), '2026-09-21T03:00:11.120-03:30');
});

test('text keeps its form: halves of characters are mended before saving, the rest is left alone', async () => {
  const p = phone();
  const row = await p.outbox.record('reading', { typed: 'a\ud800b', list: ['\udc00'], ok: '2½ 🌱 𝒳' });
  assert.deepEqual(row.op.body, { typed: 'a\ufffdb', list: ['\ufffd'], ok: '2½ 🌱 𝒳' });
  assert.equal(wellFormed(7), 7);
});

test('A9 copies of both stores are handed over, each under its own name', async () => {
  const first = phone();
  const second = phone({ seed: 5 });
  second.db.name = 'swardbook-2';
  await readings(first, 3);
  await readings(second, 2);
  const files = [];
  const rows = await saveCopies('b1', [first.db, second.db, phone().db], async (parts, name) => { files.push([name.slice(0, -16), JSON.parse(parts.join(''))]); });
  assert.equal(rows, 5);
  assert.deepEqual(files.map(([name, f]) => [name, f.kind, f.ops.map((o) => o.n)]), [['memory', 'swardbook-copy', [1, 2, 3]], ['swardbook-2', 'swardbook-copy', [1, 2]]]);
  assert.notEqual(files[0][1].device, files[1][1].device);
});

test('E1 a phone whose clock jumps by years drops nothing early and loses nothing to a restored office', async () => {
  const p = phone();
  await readings(p, 5);
  await p.syncer.go();
  p.clock.ms += 3 * 365 * 24 * 3600_000;
  assert.equal(await p.syncer.go(), 'ok');
  assert.equal((await p.outbox.everything()).length, 5);
  p.office.restore({ ops: new Map(), numbers: new Map(), through: new Map(), seq: 0 }, 'epoch-2');
  assert.equal(await p.syncer.go(), 'ok');
  assert.equal(p.office.ops.size, 5);
});

test('C1 an office that has more than the phone remembers, before any answer was heard', async () => {
  const p = phone();
  await readings(p, 20);
  const name = (await p.outbox.state()).device;
  const quiet = phone({ office: p.office, db: p.db, fetch: async (url, init) => { await p.office.fetch(url, init); throw new TypeError('the answer was lost'); } });
  assert.equal(await quiet.syncer.go(), 'no-answer');
  p.syncer.pusher.size = 5;
  assert.equal(await p.syncer.go(), 'ok');
  assert.equal((await p.outbox.unsent()).length, 0);
  assert.equal(p.office.ops.size, 20);
  assert.equal((await p.outbox.state()).device, name, 'it is no copy of another phone: its name stays');
});

test('A10 what was confirmed under an earlier name goes again to a restored office', async () => {
  const p = phone();
  await readings(p, 4);
  await p.syncer.go();
  const backup = p.office.backup();
  const { device } = await p.outbox.state();
  await readings(p, 2);
  await p.syncer.go();
  await p.outbox.fork(device, 6);
  await readings(p, 1);
  await p.syncer.go();
  p.office.restore(backup, 'epoch-2');
  assert.equal(await p.syncer.go(), 'ok');
  assert.equal(p.office.ops.size, 7);
  assert.deepEqual((await p.outbox.everything()).map((r) => r.op.body.typed), ['0', '1', '2', '3', '0', '1', '0'], 'in the order of their saving');
});

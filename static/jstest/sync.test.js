import test from 'node:test';
import assert from 'node:assert/strict';
import { createHash } from 'node:crypto';
import { phone, readings, chances, START } from './world.js';
import { Office } from './office.js';
import { Memory } from './memory.js';
import { backoff } from '../js/sync.js';
import { limitFor, retryAfter } from '../js/net.js';
import { fit, readReply } from '../js/push.js';

const acked = async (p) => (await p.outbox.state()).acked.through;
const run = (n) => Array.from({ length: n }, (_, i) => i + 1);
const json = (value, status = 200) => new Response(JSON.stringify(value), { status, headers: { 'Content-Type': 'application/json' } });

async function device(p) {
  return (await p.outbox.state()).device;
}

test('everything arrives once, in growing batches', async () => {
  const p = phone();
  await readings(p, 700);
  assert.equal(await p.syncer.go(), 'ok');
  assert.deepEqual(p.office.numbersOf(await device(p)), run(700));
  assert.deepEqual(p.office.pushes.map((b) => b.length), [20, 40, 80, 160, 320, 80]);
  assert.equal(await acked(p), 700);
});

test('lost acknowledgements and lost requests: nothing lost, nothing doubled', async () => {
  const office = new Office();
  let calls = 0;
  const fetch = async (url, init) => {
    if (!String(url).endsWith('/ops')) return office.fetch(url, init);
    calls++;
    if (calls % 3 === 0) throw new TypeError('the request was lost');
    const answer = await office.fetch(url, init);
    if (calls % 2 === 0) throw new TypeError('the answer was lost');
    return answer;
  };
  const p = phone({ office, fetch });
  await readings(p, 150);
  for (let i = 0; i < 400 && (await p.outbox.unsent()).length > 0; i++) await p.syncer.go();
  assert.deepEqual(office.numbersOf(await device(p)), run(150));
  assert.equal(office.ops.size, 150);
  assert.equal(await acked(p), 150);
});

const lies = {
  'a page with status 200': () => new Response('<html>sign in to the café</html>', { status: 200, headers: { 'Content-Type': 'text/html' } }),
  'an empty 200': () => new Response('', { status: 200 }),
  'half a JSON': () => new Response('{"epoch":"e","thr', { status: 200, headers: { 'Content-Type': 'application/json' } }),
  'a number beyond what was sent': () => json({ through: 999999 }),
  'a whole reply of an unknown epoch beyond what was sent': () => json({ epoch: 'x', through: 999999, seq: 1, now: new Date(START).toISOString(), attention: [], clash: [], photos_missing: [] }),
  'a fraction': () => json({ epoch: 'x', through: 1.5, seq: 1, now: new Date(START).toISOString() }),
  'a number as text': () => json({ epoch: 'x', through: '2', seq: 1, now: new Date(START).toISOString() }),
  'a negative number': () => json({ epoch: 'x', through: -1, seq: 1, now: new Date(START).toISOString() }),
  'a list': () => json([]),
  'null': () => json(null),
  '500': () => json({ error: 'internal', say: 'x' }, 500),
  '502 with a page': () => new Response('<html>bad gateway</html>', { status: 502 }),
  'a portal that wants a login': () => new Response('<html>login</html>', { status: 401 }),
  '409 without a number': () => json({ through: 'all' }, 409),
  '409 beyond what was sent': () => json({ through: 999 }, 409),
};
for (const [name, lie] of Object.entries(lies)) {
  test(`no answer: ${name}`, async () => {
    const p = phone({ fetch: async () => lie() });
    await readings(p, 3);
    const name1 = await device(p);
    assert.equal(await p.syncer.go(), 'no-answer');
    assert.equal(await acked(p), 0);
    assert.deepEqual((await p.outbox.unsent()).map((r) => r.n), [1, 2, 3]);
    assert.equal(await device(p), name1);
  });
}

test('redirects are refused by the request itself', async () => {
  const seen = [];
  const p = phone({ fetch: async (url, init) => { seen.push(init.redirect); throw new TypeError('redirect'); } });
  await readings(p, 1);
  assert.equal(await p.syncer.go(), 'no-answer');
  assert.deepEqual(seen, ['error']);
});

test('a response that was redirected on the way is no answer', async () => {
  const office = new Office();
  const p = phone({ fetch: async (url, init) => Object.defineProperty(await office.fetch(url, init), 'redirected', { value: true }) });
  await readings(p, 1);
  assert.equal(await p.syncer.go(), 'no-answer');
  assert.equal(await acked(p), 0);
});

test('a hole: the phone goes on from where the office stands', async () => {
  const p = phone();
  await readings(p, 30);
  await p.syncer.go();
  p.office.through.set(await device(p), 10);
  for (const [id, o] of p.office.ops) if (o.n > 10) { p.office.ops.delete(id); p.office.numbers.delete(`${o.device} ${o.n}`); }
  await readings(p, 1);
  assert.equal(await p.syncer.go(), 'ok');
  assert.deepEqual(p.office.numbersOf(await device(p)), run(31));
});

test('an office restored from a backup gets back what it forgot, without a new reading', async () => {
  const p = phone();
  await readings(p, 25);
  await p.syncer.go();
  const backup = p.office.backup();
  await readings(p, 25);
  await p.syncer.go();
  assert.equal(await acked(p), 50);
  p.office.restore(backup, 'epoch-2');
  assert.equal(p.office.ops.size, 25);
  assert.equal(await p.syncer.go(), 'ok');
  assert.deepEqual(p.office.numbersOf(await device(p)), run(50));
});

test('another epoch drops what was pulled and nothing that was recorded', async () => {
  const p = phone();
  await readings(p, 4);
  await p.syncer.go();
  await p.db.note(['others'], (tx) => tx.put('others', { seq: 900, op: {} }));
  p.office.restore({ ops: new Map(), numbers: new Map(), through: new Map(), seq: 0 }, 'epoch-2');
  assert.equal(await p.syncer.go(), 'ok');
  assert.equal(p.db.data.others.has(900), false);
  assert.equal(p.office.ops.size, 4);
  assert.equal((await p.db.read(['meta'], (tx) => tx.get('meta', 'feed'))).epoch, 'epoch-2');
  assert.equal(p.db.data.pack.get('packet').body.epoch, 'epoch-2');
});

test('a copied profile becomes two phones and every row arrives', async () => {
  const office = new Office();
  const a = phone({ office });
  await readings(a, 5);
  await a.syncer.go();
  const b = phone({ office, db: a.db.copy(), seed: 77 });
  await readings(a, 2);
  await readings(b, 3);
  assert.equal(await a.syncer.go(), 'ok');
  assert.equal(await b.syncer.go(), 'ok');
  assert.equal(office.ops.size, 10);
  assert.notEqual(await device(a), await device(b));
  assert.deepEqual(office.numbersOf(await device(b)), [1, 2, 3]);
  assert.equal((await b.outbox.everything()).length, 8);
});

test('a phone put back to an earlier day takes a new name when the office knows more than it gave out', async () => {
  const office = new Office();
  const a = phone({ office });
  await readings(a, 5);
  await a.syncer.go();
  const old = phone({ office, db: a.db.copy(), seed: 5 });
  await readings(a, 5);
  await a.syncer.go();
  assert.equal(await old.syncer.go(), 'ok');
  assert.notEqual(await device(old), await device(a));
  await old.write('new');
  assert.equal(await old.syncer.go(), 'ok');
  assert.equal(office.ops.size, 11);
});

test('rows that were pruned can not be asked for again: the rest gets a new name', async () => {
  const p = phone();
  await readings(p, 10);
  await p.syncer.go();
  p.clock.ms += 40 * 24 * 3600_000;
  await p.outbox.prune();
  await readings(p, 2);
  p.office.restore({ ops: new Map(), numbers: new Map(), through: new Map(), seq: 0 }, 'epoch-2');
  assert.equal(await p.syncer.go(), 'ok');
  assert.equal(p.office.ops.size, 2);
  assert.deepEqual(p.office.numbersOf(await device(p)), [1, 2]);
});

test('two syncers without locks: every row once', async () => {
  const office = new Office();
  const db = new Memory();
  const slow = (seed) => {
    const chance = chances(seed);
    return async (url, init) => {
      for (let i = chance() * 5; i > 0; i--) await null;
      return office.fetch(url, init);
    };
  };
  const a = phone({ office, db, fetch: slow(3) });
  const b = phone({ office, db, seed: 4, fetch: slow(8) });
  await readings(a, 120);
  for (let i = 0; i < 10; i++) await Promise.all([a.syncer.go(), b.syncer.go(), i < 5 ? b.write(`late ${i}`) : null]);
  assert.equal((await a.outbox.unsent()).length, 0);
  assert.deepEqual(office.numbersOf(await device(a)), run(125));
});

test('with locks only one of two syncers works', async () => {
  let held = false;
  const locks = { request: async (name, opts, fn) => { if (held) return fn(null); held = true; try { return await fn({ name }); } finally { held = false; } } };
  const office = new Office();
  const db = new Memory();
  const a = phone({ office, db, locks });
  const b = phone({ office, db, locks, seed: 2 });
  await readings(a, 30);
  assert.deepEqual((await Promise.all([a.syncer.go(), b.syncer.go()])).sort(), ['elsewhere', 'ok']);
  assert.deepEqual(office.pushes.map((x) => x.length), [20, 10]);
});

test('sign in to send: recording goes on, and everything goes after signing in, under its author', async () => {
  const p = phone();
  await p.db.note(['meta'], (tx) => tx.put('meta', { id: 'p1' }, 'me'));
  p.office.signedIn = false;
  await readings(p, 10);
  assert.equal(await p.syncer.go(), 'sign-in');
  assert.equal((await p.outbox.unsent()).length, 10);
  p.office.signedIn = true;
  p.office.person = { id: 'p2', name: 'Sam', role: 'crew', lang: 'es' };
  assert.equal(await p.syncer.go(), 'ok');
  assert.deepEqual(new Set([...p.office.ops.values()].map((o) => o.author)), new Set(['p1']));
  assert.equal((await p.write('1')).op.author, 'p2');
});

test('too big: halved until it fits', async () => {
  const office = new Office();
  const fetch = async (url, init) => {
    if (String(url).endsWith('/ops') && typeof init.body === 'string' && JSON.parse(init.body).ops.length > 3) return json({ error: 'too_large', say: 'x' }, 413);
    if (String(url).endsWith('/ops') && typeof init.body !== 'string') return json({ error: 'too_large', say: 'x' }, 413);
    return office.fetch(url, init);
  };
  const p = phone({ office, fetch });
  await readings(p, 20);
  assert.equal(await p.syncer.go(), 'ok');
  assert.deepEqual(office.numbersOf(await device(p)), run(20));
});

test('too old, and busy with a wish', async () => {
  const p = phone({ fetch: async () => json({ error: 'outdated', say: 'x' }, 426) });
  await readings(p, 1);
  assert.equal(await p.syncer.go(), 'outdated');
  const q = phone({ fetch: async () => new Response('', { status: 503, headers: { 'Retry-After': '17' } }) });
  await readings(q, 1);
  assert.equal(await q.syncer.go(), 'busy_office');
  assert.equal(q.planned.at(-1).ms, 17_000);
  q.syncer.kick();
  assert.equal(q.planned.at(-1).ms, 17_000, 'a return of the signal does not shorten what the office asked for');
  assert.equal((await q.outbox.unsent()).length, 1);
});

test('waiting grows with full jitter, at most a minute, and starts again after a tap', async () => {
  for (let n = 0; n < 12; n++) {
    assert.equal(backoff(n, () => 0), 0);
    assert.ok(backoff(n, () => 0.999999) <= Math.min(60_000, 1000 * 2 ** n));
  }
  const p = phone({ fetch: async () => { throw new TypeError('offline'); } });
  await readings(p, 1);
  for (let i = 0; i < 8; i++) await p.syncer.go();
  assert.equal(p.syncer.tries, 8);
  const plans = p.planned.length;
  p.syncer.saved();
  assert.equal(p.planned.length, plans, 'a save does not bring a planned retry forward');
  await p.syncer.tapped();
  assert.equal(p.syncer.tries, 1);
});

test('a request has 20 s and a second for each 10 KB', async () => {
  assert.equal(limitFor(0), 20_000);
  assert.equal(limitFor(102_400), 30_000);
  assert.equal(retryAfter('5', 0), 5000);
  assert.equal(retryAfter(new Date(START + 9000).toUTCString(), START), 9000);
  assert.equal(retryAfter('soon', START), 0);
  const p = phone({ fetch: (url, init) => new Promise((_, reject) => init.signal.addEventListener('abort', () => reject(new Error('cut')))) });
  await readings(p, 1);
  const done = p.syncer.go();
  while (!p.planned.some((t) => t.ms >= 20_000)) await new Promise((r) => setImmediate(r));
  p.planned.find((t) => t.ms >= 20_000).fn();
  assert.equal(await done, 'no-answer');
});

test('an office that never gets further is not asked for ever', async () => {
  let calls = 0;
  const office = new Office();
  const p = phone({ fetch: async () => { calls++; return json(office.reply(0)); } });
  await readings(p, 5);
  assert.equal(await p.syncer.go(), 'no-answer');
  assert.ok(calls < 12, `${calls} calls`);
});

test('what the office wants looked at is kept by id', async () => {
  const office = new Office();
  const fetch = async (url, init) => {
    const answer = await office.fetch(url, init);
    if (!String(url).endsWith('/ops')) return answer;
    return json({ ...(await answer.json()), attention: [{ n: 2, id: 'x', code: 'unreadable', say: 'Look.' }], clash: [3] });
  };
  const p = phone({ office, fetch });
  await readings(p, 3);
  await p.syncer.go();
  const marks = await p.db.read(['meta'], (tx) => tx.get('meta', 'marks'));
  const rows = await p.outbox.everything();
  assert.deepEqual(rows.map((r) => marks[r.op.id]?.code), [undefined, 'unreadable', 'clash']);
  assert.equal(await acked(p), 3, 'set aside is received all the same');
});

test('shapes: fit takes a run without holes and never more than fits', () => {
  const row = (n, size = 1) => ({ n, op: { n, text: 'x'.repeat(size) } });
  assert.equal(fit([row(3), row(4), row(6)], 3).length, 2);
  assert.equal(fit([row(1, 800_000), row(2, 200_000)], 1).length, 1);
  assert.equal(fit([row(1, 2_000_000)], 1).length, 1);
  assert.equal(readReply({ epoch: '', through: 1, seq: 1, now: '2026-01-01T00:00:00Z' }), null);
  assert.deepEqual(readReply({ epoch: 'e', through: 1, seq: 1, now: '2026-01-01T00:00:00Z', attention: null }).attention, []);
});

function picture(size, fill = 7) {
  const bytes = new Uint8Array(size).fill(fill);
  return { sha: createHash('sha256').update(bytes).digest('hex'), size, type: 'image/jpeg', bytes: bytes.buffer };
}

test('photos go after the rows, in growing pieces, and are marked whole only when the office says so', async () => {
  const office = new Office();
  const order = [];
  const p = phone({ office, fetch: async (url, init) => { order.push(`${init.method ?? 'GET'} ${String(url).slice(8, 14)}`); return office.fetch(url, init); } });
  const pic = picture(1_500_000);
  await p.write(pic.sha, [pic]);
  assert.equal(await p.syncer.go(), 'ok');
  assert.deepEqual(order.filter((o) => !o.startsWith('GET')), ['POST ops', 'PATCH photos', 'PATCH photos', 'PATCH photos']);
  assert.deepEqual(Buffer.from(pic.bytes).equals(office.photos.get(pic.sha).bytes), true);
  assert.ok(p.db.data.photos.get(pic.sha).done > 0);
});

test('photos whose pieces and answers are lost arrive whole, and little is sent twice', async () => {
  const office = new Office();
  let calls = 0;
  let sent = 0;
  const fetch = async (url, init) => {
    if (init.method !== 'PATCH') return office.fetch(url, init);
    calls++;
    if (calls % 4 === 1) throw new TypeError('lost on the way');
    sent += init.body.byteLength;
    const answer = await office.fetch(url, init);
    if (calls % 3 === 0) throw new TypeError('answer lost');
    return answer;
  };
  const p = phone({ office, fetch });
  const pics = [1, 2, 3].map((n) => picture(900_000 + n, n));
  for (const pic of pics) await p.write(pic.sha, [pic]);
  for (let i = 0; i < 40 && [...p.db.data.photos.values()].some((x) => !x.done); i++) await p.syncer.go();
  for (const pic of pics) assert.ok(office.photos.get(pic.sha).complete);
  assert.ok(sent < 1.6 * 2_700_000, `${sent} bytes`);
});

test('a photo under whose name more arrived than it has begins anew, also when its answer was lost, and holds up no other', async () => {
  const office = new Office();
  const pics = [1, 2].map((n) => picture(1000, n));
  let lost = 0;
  const fetch = async (url, init) => {
    if (init.method === 'PATCH' && url.endsWith(pics[0].sha) && lost++ === 0) throw new TypeError('lost on the way');
    return office.fetch(url, init);
  };
  const p = phone({ office, fetch });
  for (const pic of pics) await p.write(pic.sha, [pic]);
  office.photos.set(pics[0].sha, { bytes: Buffer.alloc(5000), complete: false });
  for (let i = 0; i < 3; i++) await p.syncer.go();
  for (const pic of pics) assert.ok(office.photos.get(pic.sha)?.complete);
});

test('a photo the office lacks after all is sent again', async () => {
  const p = phone();
  const pic = picture(1000);
  await p.write(pic.sha, [pic]);
  await p.syncer.go();
  p.office.photos.clear();
  p.office.lacking = [pic.sha];
  await p.syncer.go();
  assert.ok(p.office.photos.get(pic.sha).complete);
});

test('a photo that the office can not take holds up nothing else', async () => {
  const office = new Office();
  const bad = picture(500, 1);
  const good = picture(600, 2);
  const fetch = async (url, init) => (init.method === 'PATCH' && url.includes(bad.sha) ? json({ error: 'invalid', say: 'x' }, 422) : office.fetch(url, init));
  const p = phone({ office, fetch });
  await p.write(bad.sha, [bad]);
  await p.write(good.sha, [good]);
  assert.equal(await p.syncer.go(), 'ok');
  assert.ok(office.photos.get(good.sha).complete);
  assert.equal(p.db.data.photos.get(bad.sha).done, 0);
  assert.equal(p.db.data.blobs.has(bad.sha), true);
});

test('the packet is not swapped while a form is open', async () => {
  const p = phone({ hold: async () => null });
  assert.equal(await p.syncer.go(), 'ok');
  assert.equal(p.db.data.pack.has('packet'), false);
  const q = phone({ office: p.office });
  await q.syncer.go();
  p.office.packVersion = 2;
  await q.syncer.go();
  assert.equal(q.db.data.pack.get('packet').body.version, 2);
});

test('knowledge that never came is fetched under an open form, and what is there is not swapped', async () => {
  const office = new Office();
  const cut = async (url, init) => (url.includes('/knowledge.json') ? json({ error: 'unavailable', say: 'x' }, 503) : office.fetch(url, init));
  const first = phone({ office, fetch: cut });
  assert.notEqual(await first.syncer.go(), 'ok');
  assert.equal(first.db.data.pack.has('packet'), true);
  assert.equal(first.db.data.pack.has('catalogue'), false);
  const form = phone({ office, db: first.db, hold: async () => null });
  assert.equal(await form.syncer.go(), 'ok');
  const { text } = first.db.data.pack.get('catalogue');
  office.packVersion = 2;
  office.edition = 'edition2';
  assert.equal(await form.syncer.go(), 'ok');
  assert.equal(first.db.data.pack.get('catalogue').text, text);
  assert.equal(first.db.data.pack.get('packet').body.version, 1);
  assert.equal(first.db.data.pack.get('tags').catalogue, '"edition1"');
});

test('a packet of another shape changes nothing', async () => {
  const office = new Office();
  const p = phone({ office });
  await p.syncer.go();
  office.pack = () => ({ epoch: 'epoch-1' });
  office.packVersion = 3;
  assert.equal(await p.syncer.go(), 'no-answer');
  assert.equal(p.db.data.pack.get('packet').body.version, 1);
});

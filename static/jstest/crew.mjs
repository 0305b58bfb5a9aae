// Phones for tests of the real program: the real modules over stores in memory, against an office at an address, in real
// time. They record and sync, lose answers and are closed in mid-air until a line comes on standard input; then all syncs
// until nothing waits, and what the screens called kept is printed, with what every phone shows.
//
//   node crew.mjs http://127.0.0.1:8080 name passcode phones seed [share]
//
// share is how many of the records that come to mind are made, so that a long run has no more of them than a short one: every
// phone reads all of them again and again.

import { createInterface } from 'node:readline';
import { createHash } from 'node:crypto';
import { Outbox } from '../js/outbox.js';
import { Syncer } from '../js/sync.js';
import { load, View } from '../js/view.js';
import { Memory } from './memory.js';
import { seeded } from './simulated.js';

const [, , base, name, passcode, phones, seed, share = '1'] = process.argv;
const chance = seeded(Number(seed));
const sleep = (ms) => new Promise((done) => setTimeout(done, ms));
const kept = [];
let calm = false;
let cookie = '';
let token = 0;

/** One page, opened again when it is closed in mid-air; the store stays. */
class Page {
  constructor(store) {
    Object.assign(this, { store, alive: true });
    const db = { name: 'swardbook' };
    for (const kind of ['read', 'keep', 'note']) db[kind] = (names, fn) => (this.alive ? store[kind](names, fn) : new Promise(() => {}));
    this.db = db;
    this.outbox = new Outbox(db, {});
    this.syncer = new Syncer({ db, outbox: this.outbox, app: 'crew' }, { fetch: (url, init) => this.fetch(url, init), locks: null, setTimer: (fn, ms) => (ms >= 20_000 ? setTimeout(fn, ms).unref() : null) });
  }

  async fetch(url, init) {
    if (!this.alive) return new Promise(() => {});
    if (!calm && chance() < 0.08) throw new TypeError('no connection');
    const answer = await fetch(base + url, { ...init, headers: { ...init.headers, Cookie: cookie, 'Sec-Fetch-Site': 'same-origin' } });
    if (!calm && chance() < 0.08) throw new TypeError('the answer was lost');
    return answer;
  }
}

async function signIn() {
  const answer = await fetch(`${base}/sign-in`, { method: 'POST', redirect: 'manual', body: new URLSearchParams({ name, passcode }), headers: { 'Sec-Fetch-Site': 'same-origin' } });
  cookie = (answer.headers.get('Set-Cookie') ?? '').split(';')[0];
  if (!cookie) throw new Error(`signing in answered ${answer.status}`);
  const pack = await (await fetch(`${base}/api/v1/pack`, { headers: { Cookie: cookie } })).json();
  const visit = pack.visits.find((v) => v.crew === pack.person.id && v.state === 'planned' && pack.days.includes(v.day));
  return { visit, zones: pack.zones.filter((z) => z.property === visit.property) };
}

function picture() {
  const bytes = Buffer.alloc(2000 + Math.floor(chance() * 400_000), token % 251);
  bytes.set([0xff, 0xd8, 0xff, 0xe0], 0);
  bytes.writeUInt32BE(token, 4);
  return { sha: createHash('sha256').update(bytes).digest('hex'), size: bytes.length, type: 'image/jpeg', bytes: bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length) };
}

async function record(page, { visit, zones }) {
  const zone = zones[Math.floor(chance() * zones.length)].id;
  const picked = chance() < 0.05 ? [picture()] : [];
  const body = { visit: visit.id, zone, check: picked.length > 0 ? 'photo' : 'note', typed: picked[0]?.sha ?? `word ${++token}`, edition: 'e' };
  const view = new View(await load(page.db));
  const row = await page.outbox.record('reading', body, picked, { base: view.base(body.visit, zone, body.check) });
  kept.push({ id: row.op.id, typed: body.typed, photos: picked.map((p) => p.sha) });
  token++;
}

/** One phone's day. */
async function walk(store, place) {
  let page = new Page(store);
  while (!(await page.db.read(['meta'], (tx) => tx.get('meta', 'me')))) await page.syncer.tapped(); // no form opens before the phone knows whose it is
  while (!calm) {
    for (let i = Math.floor(chance() * 4); i > 0; i--) if (chance() < Number(share)) await record(page, place);
    const running = page.syncer.tapped();
    if (chance() < 0.1) {
      await sleep(chance() * 30);
      page.alive = false;
      page = new Page(store);
    } else {
      await Promise.race([running, sleep(400)]);
    }
    await sleep(20 + chance() * 120);
  }
  return page;
}

async function rest(page) {
  let result, waiting, photos;
  for (let i = 0; i < 60; i++) {
    result = await page.syncer.tapped();
    waiting = (await page.outbox.unsent()).length;
    photos = (await page.db.read(['photos'], (tx) => tx.all('photos'))).filter((p) => !p.done).length;
    if (result === 'ok' && waiting === 0 && photos === 0) return;
    await sleep(200);
  }
  throw new Error(`a phone did not come to rest: ${result}, ${waiting} records and ${photos} photos wait`);
}

/** What stands in each cell of the visit, as a phone shows it. */
async function shown(page, { visit, zones }) {
  const view = new View(await load(page.db));
  return Object.fromEntries(zones.map((z) => [z.id, Object.fromEntries([...view.current(visit.id, z.id)].map(([check, r]) => [check, r.id]))]));
}

const place = await signIn();
const lines = createInterface({ input: process.stdin });
const stop = new Promise((done) => { lines.once('line', done); });
const walking = Array.from({ length: Number(phones) }, () => walk(new Memory(), place));
await sleep(500);
process.stdout.write('walking\n');
await stop;
calm = true;
const pages = await Promise.all(walking);
await Promise.all(pages.map(rest));
for (const page of pages) await rest(page); // once more, now that everybody else's is there
const devices = await Promise.all(pages.map(async (p) => (await p.outbox.state())));
process.stdout.write(`${JSON.stringify({ visit: place.visit.id, kept, devices: devices.map(({ device, last }) => ({ device, last })), shown: await Promise.all(pages.map((p) => shown(p, place))) })}\n`, () => process.exit(0));

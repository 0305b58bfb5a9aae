// The worker over several releases: the real sw.js, run as often as there are releases, over one set of caches and one office that
// serves its newest release only.
import test from 'node:test';
import assert from 'node:assert/strict';
import vm from 'node:vm';
import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const source = readFileSync(fileURLToPath(new URL('../js/sw.js', import.meta.url)), 'utf8');
const origin = 'https://office.example';

/** A release: its files, modules under an address of its own, and what the office writes above the worker. */
function release(version, shells, modules) {
  const files = { ...shells, ...Object.fromEntries(Object.entries(modules).map(([name, text]) => [`/static/${version}/js/${name}`, text])) };
  const list = Object.entries(files).map(([url, text]) => ({ url, type: url.endsWith('.js') ? 'text/javascript' : 'text/html', sha256: createHash('sha256').update(text).digest('hex') }));
  return { version, files, list };
}

const first = release('1', { '/field/zone': '<p>one</p>' }, { 'zone.js': 'one', 'late.js': 'late one' });
const second = release('2', { '/field/zone': '<p>two</p>' }, { 'zone.js': 'two', 'late.js': 'late two', 'new.js': 'new' });
const third = release('3', { '/field/zone': '<p>three</p>' }, { 'zone.js': 'three', 'other.js': 'other' });

/** A phone's browser: caches that outlive workers, and a network that may be gone. */
class Phone {
  constructor() {
    Object.assign(this, { stored: new Map([['somebody-elses', new Map()]]), served: null, offline: false, portal: false });
    const of = (name) => ({
      put: async (url, response) => { this.stored.get(name).set(url, await response.text()); },
    });
    this.caches = {
      match: async (url, { cacheName }) => { const text = this.stored.get(cacheName)?.get(url); return text === undefined ? undefined : new Response(text); },
      open: async (name) => { if (!this.stored.has(name)) this.stored.set(name, new Map()); return of(name); },
      keys: async () => [...this.stored.keys()],
      delete: async (name) => this.stored.delete(name),
    };
  }

  async fetch(request) {
    if (this.offline) throw new TypeError('no connection');
    const url = typeof request === 'string' ? request : new URL(request.url).pathname;
    this.onFetch?.(url);
    if (this.portal) return new Response('<h1>Welcome</h1>', { headers: { 'Content-Type': 'text/html' } });
    if (url === '/field/release.json') return new Response(JSON.stringify({ version: this.served.version, files: this.served.list }), { headers: { 'Content-Type': 'application/json' } });
    const text = this.served.files[url];
    if (text === undefined) return new Response('<h1>Not here</h1>', { status: 404, headers: { 'Content-Type': 'text/html' } });
    return new Response(text, { headers: { 'Content-Type': url.endsWith('.js') ? 'text/javascript' : 'text/html' } });
  }

  /** A worker of what the office serves now. */
  worker() {
    const handlers = {};
    let skipped = false;
    const self = { location: { origin }, addEventListener: (kind, fn) => { handlers[kind] = fn; }, skipWaiting: () => { skipped = true; } };
    const { version, list } = this.served;
    vm.runInNewContext(source, { RELEASE: { version, files: list }, self, caches: this.caches, fetch: (r) => this.fetch(r), crypto, Response, Headers, URL, Uint8Array, Error });
    const run = async (kind, event = {}) => { let done; handlers[kind]({ ...event, waitUntil: (p) => { done = p; } }); await done; };
    const get = async (path, mode = 'no-cors') => {
      let answer = null;
      const request = { method: 'GET', url: origin + path, mode };
      const also = [];
      handlers.fetch({ request, respondWith: (p) => { answer = p; }, waitUntil: (p) => also.push(p) });
      const response = await (answer ?? this.fetch(request));
      await Promise.all(also);
      return response.status === 200 ? response.text() : response.status;
    };
    return { install: () => run('install'), activate: () => run('activate'), message: (data) => handlers.message({ data }), skipped: () => skipped, get };
  }
}

test('B10 an old page goes on with its own release while a new one waits, also two releases apart', async () => {
  const phone = new Phone();
  phone.served = first;
  const old = phone.worker();
  await old.install();
  await old.activate();

  phone.served = second;
  const waiting = phone.worker();
  await waiting.install();
  assert.equal(waiting.skipped(), false, 'it takes over only when it is asked to');
  assert.equal(await old.get('/field/zone?visit=v&zone=z', 'navigate'), '<p>one</p>');
  assert.equal(await old.get('/static/1/js/late.js'), 'late one', 'a module that is loaded late is of the page\'s own release');

  phone.served = third; // the second release never came to serve
  const newest = phone.worker();
  await newest.install();
  phone.offline = true;
  assert.equal(await old.get('/static/1/js/late.js'), 'late one');
  assert.equal(await old.get('/static/1/js/zone.js'), 'one');

  newest.message({ kind: 'something else' });
  assert.equal(newest.skipped(), false);
  newest.message({ kind: 'take over' });
  assert.equal(newest.skipped(), true);
  await newest.activate();
  assert.deepEqual([...phone.stored.keys()].sort(), ['somebody-elses', 'swardbook-release-3'], 'older releases go, other caches stay');
  assert.equal(await newest.get('/field/zone', 'navigate'), '<p>three</p>');
  assert.equal(await newest.get('/static/3/js/other.js'), 'other');
});

test('B10 a release that changes while it is fetched is not installed, and the old one stays in charge', async () => {
  const phone = new Phone();
  phone.served = first;
  const old = phone.worker();
  await old.install();
  phone.served = second;
  const torn = phone.worker();
  phone.onFetch = (url) => { if (url === '/static/2/js/zone.js') phone.served = third; };
  await assert.rejects(torn.install(), /not of this release|answered 404/);
  assert.equal(phone.stored.has('swardbook-release-2'), false);
  const other = phone.worker();
  phone.onFetch = (url) => { if (url === '/static/3/js/zone.js') phone.served = { ...phone.served, files: { ...phone.served.files, [url]: 'another' } }; };
  await assert.rejects(other.install(), /not of this release/, 'a file of the same address and type with other bytes');
  assert.equal(await old.get('/static/1/js/zone.js'), 'one');
});

/** A phone whose worker is in charge of the first release. */
async function settled() {
  const phone = new Phone();
  phone.served = first;
  const worker = phone.worker();
  await worker.install();
  await worker.activate();
  return { phone, worker, has: () => [...(phone.stored.get('swardbook-release-1') ?? new Map()).keys()].sort() };
}

test('B10 a cache that the browser emptied, or half of it, is made whole while the office has the release', async () => {
  for (const lost of [['/static/1/js/late.js'], Object.keys(first.files)]) {
    const { phone, worker, has } = await settled();
    for (const url of lost) phone.stored.get('swardbook-release-1').delete(url);
    if (has().length === 0) phone.stored.delete('swardbook-release-1');
    assert.equal(await worker.get('/static/1/js/late.js'), 'late one');
    assert.deepEqual(has(), Object.keys(first.files).sort());
    phone.offline = true;
    assert.equal(await worker.get('/field/zone', 'navigate'), '<p>one</p>');
  }
});

test('B10 what the browser lost of a release that the office no longer has is not mixed with another release', async () => {
  for (const lost of [['/static/1/js/late.js'], Object.keys(first.files)]) {
    const { phone, worker } = await settled();
    for (const url of lost) phone.stored.get('swardbook-release-1').delete(url);
    phone.served = second;
    assert.equal(await worker.get('/static/1/js/late.js'), 404, 'an old page gets no module of another release');
    assert.equal(phone.stored.has('swardbook-release-1'), false, 'half a release opens no page that could not start');
    assert.equal(await worker.get('/field/zone?visit=v', 'navigate'), '<p>two</p>');
    assert.equal(await worker.get('/static/2/js/zone.js'), 'two', 'a page of the new release is whole');
    assert.equal(await worker.get('/static/2/js/late.js'), 'late two');
    assert.equal(await worker.get('/static/1/js/zone.js'), 404);
  }
});

test('B10 without signal, or behind a portal, a half emptied cache stays as it is', async () => {
  for (const trouble of ['offline', 'portal']) {
    const { phone, worker, has } = await settled();
    phone.stored.get('swardbook-release-1').delete('/static/1/js/late.js');
    phone[trouble] = true;
    phone.served = second;
    const got = await worker.get('/static/1/js/late.js').catch((err) => err.message);
    assert.notEqual(got, 'late two');
    assert.deepEqual(has(), ['/field/zone', '/static/1/js/zone.js'], trouble);
    assert.equal(await worker.get('/field/zone', 'navigate'), '<p>one</p>');
  }
});

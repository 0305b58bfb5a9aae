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

/** A release: its files, and what the office writes above the worker. */
function release(version, files) {
  const list = Object.entries(files).map(([url, text]) => ({ url, type: url.endsWith('.js') ? 'text/javascript' : 'text/html', sha256: createHash('sha256').update(text).digest('hex') }));
  return { version, files, list };
}

const first = release('1', { '/field/zone': '<p>one</p>', '/static/js/zone.js': 'one', '/static/js/late.js': 'late one' });
const second = release('2', { '/field/zone': '<p>two</p>', '/static/js/zone.js': 'two', '/static/js/late.js': 'late two', '/static/js/new.js': 'new' });
const third = release('3', { '/field/zone': '<p>three</p>', '/static/js/zone.js': 'three', '/static/js/other.js': 'other' });

/** A phone's browser: caches that outlive workers, and a network that may be gone. */
class Phone {
  constructor() {
    Object.assign(this, { stored: new Map([['somebody-elses', new Map()]]), served: null, offline: false });
    const of = (name) => ({
      put: async (url, response) => { this.stored.get(name).set(url, await response.text()); },
      match: async (url) => { const text = this.stored.get(name).get(url); return text === undefined ? undefined : new Response(text); },
    });
    this.caches = {
      open: async (name) => { if (!this.stored.has(name)) this.stored.set(name, new Map()); return of(name); },
      keys: async () => [...this.stored.keys()],
      delete: async (name) => this.stored.delete(name),
    };
  }

  async fetch(request) {
    if (this.offline) throw new TypeError('no connection');
    const url = typeof request === 'string' ? request : new URL(request.url).pathname;
    this.onFetch?.(url);
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
      handlers.fetch({ request, respondWith: (p) => { answer = p; } });
      return (await (answer ?? this.fetch(request))).text();
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
  assert.equal(await old.get('/static/js/late.js'), 'late one', 'a module that is loaded late is of the page\'s own release');

  phone.served = third; // the second release never came to serve
  const newest = phone.worker();
  await newest.install();
  phone.offline = true;
  assert.equal(await old.get('/static/js/late.js'), 'late one');
  assert.equal(await old.get('/static/js/zone.js'), 'one');

  newest.message({ kind: 'something else' });
  assert.equal(newest.skipped(), false);
  newest.message({ kind: 'take over' });
  assert.equal(newest.skipped(), true);
  await newest.activate();
  assert.deepEqual([...phone.stored.keys()].sort(), ['somebody-elses', 'swardbook-release-3'], 'older releases go, other caches stay');
  assert.equal(await newest.get('/field/zone', 'navigate'), '<p>three</p>');
  assert.equal(await newest.get('/static/js/other.js'), 'other');
});

test('B10 a release that changes while it is fetched is not installed, and the old one stays in charge', async () => {
  const phone = new Phone();
  phone.served = first;
  const old = phone.worker();
  await old.install();
  phone.served = second;
  const torn = phone.worker();
  phone.onFetch = (url) => { if (url === '/static/js/zone.js') phone.served = third; };
  await assert.rejects(torn.install(), /not of this release|answered 404/);
  assert.equal(phone.stored.has('swardbook-release-2'), false);
  const other = phone.worker();
  phone.onFetch = (url) => { if (url === '/static/js/zone.js') phone.served = { ...phone.served, files: { ...phone.served.files, [url]: 'another' } }; };
  await assert.rejects(other.install(), /not of this release/, 'a file of the same address and type with other bytes');
  assert.equal(await old.get('/static/js/zone.js'), 'one');
});

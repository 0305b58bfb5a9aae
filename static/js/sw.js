// The worker answers the phone's pages without signal. It keeps no state of its own: what it serves is one release, whole,
// listed by the server with the digest of each file. RELEASE stands above this line when the server hands the worker out.
/* global RELEASE */

const PREFIX = 'swardbook-release-';
const NAME = PREFIX + RELEASE.version;
const SCOPE = '/field/';

/** @param {ArrayBuffer} bytes */
async function digest(bytes) {
  const sum = new Uint8Array(await crypto.subtle.digest('SHA-256', bytes));
  return Array.from(sum, (b) => b.toString(16).padStart(2, '0')).join('');
}

/** Fetches one file and refuses whatever is not exactly it: a sign-in page, a portal's page, a file of another release. */
async function exact({ url, type, sha256 }) {
  const response = await fetch(url, { cache: 'reload', redirect: 'error', credentials: 'same-origin' });
  if (response.status !== 200 || response.redirected) throw new Error(`${url} answered ${response.status}`);
  const got = response.headers.get('Content-Type') ?? '';
  if (got.split(';')[0].trim() !== type) throw new Error(`${url} came as ${got}`);
  const bytes = await response.arrayBuffer();
  if ((await digest(bytes)) !== sha256) throw new Error(`${url} is not of this release`);
  const headers = new Headers(response.headers);
  headers.delete('Content-Encoding');
  headers.delete('Content-Length');
  return new Response(bytes, { status: 200, headers });
}

/** All of the release or none of it. */
async function install() {
  const files = await Promise.all(RELEASE.files.map(async (file) => [file.url, await exact(file)]));
  const cache = await caches.open(NAME);
  await Promise.all(files.map(([url, response]) => cache.put(url, response)));
}

/** Older releases go once this one is in charge; other people's caches on this origin are not ours to touch. */
async function activate() {
  const names = await caches.keys();
  await Promise.all(names.filter((n) => n.startsWith(PREFIX) && n !== NAME).map((n) => caches.delete(n)));
}

const listed = new Map(RELEASE.files.map((f) => [f.url, f]));

/** The release's own file for an address, whatever its query says. A browser may have lost it. */
async function kept(event, path) {
  const found = await caches.match(path, { cacheName: NAME }).catch(() => undefined);
  if (found) return found;
  event.waitUntil(whole());
  return exact(listed.get(path)).catch(() => fetch(event.request));
}

let mending = null; // only so that one mending runs at a time

/**
 * Makes the release whole again while the office has it. When it has another one, what is left here would open pages that lack
 * a module; without it the office's own pages open, and theirs are at other addresses than ours.
 */
function whole() {
  mending ??= movedOn().then((on) => (on ? caches.delete(NAME) : install())).catch(() => {}).finally(() => { mending = null; });
  return mending;
}

/** Whether the office says that it has another release: only in its own shape, since a portal answers anything. */
async function movedOn() {
  const response = await fetch('/field/release.json', { cache: 'no-store', redirect: 'error', credentials: 'same-origin' });
  const { version, files } = await response.json();
  return response.status === 200 && typeof version === 'string' && Array.isArray(files) && version !== RELEASE.version;
}

self.addEventListener('install', (event) => event.waitUntil(install()));
self.addEventListener('activate', (event) => event.waitUntil(activate()));

self.addEventListener('message', (event) => {
  if (event.data?.kind === 'take over') self.skipWaiting();
});

self.addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== 'GET' || url.origin !== self.location.origin || !listed.has(url.pathname)) return;
  if (request.mode === 'navigate' && !url.pathname.startsWith(SCOPE)) return;
  event.respondWith(kept(event, url.pathname));
});

// What every page of the phone does: opens the store, keeps the foot line true, syncs, and lets a new release in when
// nothing can be lost by it. A document may turn from one page to another; what they share is the phone's.

import { asTheyAre, open, leftover } from './db.js';
import { saveCopies } from './copy.js';
import { Outbox } from './outbox.js';
import { Syncer, alone } from './sync.js';
import { load, View } from './view.js';
import { counted, LANGS, langOf, loadSay } from './words.js';
import { banner, el, part, show } from './dom.js';
import { Foot } from './foot.js';
import { keepLastPhotos } from './lastphotos.js';

const FORM_LOCK = 'swardbook-form';

/**
 * @typedef {object} Phone  what all pages of a document share
 * @property {import('./db.js').Store} db
 * @property {Outbox} outbox
 * @property {Syncer} syncer
 * @property {import('./words.js').Say} say
 * @property {Foot} foot
 * @property {string} lang    the language shown
 * @property {string} wanted  the language it should be in
 * @property {(form: string, body: object, photos?: any[], more?: object) => Promise<any>} record
 * @property {Page} page      the one that shows
 * @property {any} known      what was read last
 * @property {boolean} [taking]  whether a new release is about to take over
 * @property {Promise<() => void>|null} held  leave to have a form open, once it is there; it lets go
 *
 * @typedef {Phone & Shown} Page
 * @typedef {object} Shown
 * @property {Phone} phone
 * @property {Kind} kind
 * @property {URLSearchParams} query
 * @property {HTMLElement} root
 * @property {(name: string) => any} part  a part of this page, and of no other one that the document turned to since
 * @property {(whole?: boolean) => Promise<View>} look  everything the phone knows, read anew
 * @property {AbortController} end  when the page is gone for good
 * @property {View} [drawn]   what was drawn last
 * @property {any} [shown]    what draws it
 *
 * @typedef {object} Kind
 * @property {boolean} [form]       whether answers are given here, so that nothing it is made of may change
 * @property {boolean} [knowledge]  whether the page draws from the knowledge; it does unless false
 * @property {(page: Page, view: View) => Promise<void>} [make]  makes what draws the page, before it is known what it is of; `fill` says that then
 * @property {(page: Page, view: View) => boolean} [fits]  whether what was made is still what the phone knows
 * @property {(page: Page, view: View) => void} [fill]  called before the page is put in
 * @property {(page: Page, view: View) => any} draw  called once the phone knows who it belongs to, and after each sync
 * @property {(page: Page) => Promise<boolean>} [leave]  called before the document turns to another page; false when something given could not be kept
 */

/** Pages by the name of their shell. @type {Map<string, Kind>} */
export const kinds = new Map();

/** Says what a page is made of, and starts it when its shell is the one that was opened. @param {string} name @param {Kind} kind */
export async function boot(name, kind) {
  kinds.set(name, kind);
  if (part('page').dataset.page !== name) return;
  const say = await loadSay(langOf({})).catch(() => null);
  if (!say) return;
  if (!globalThis.isSecureContext || !globalThis.crypto?.subtle) return stopped(say('shell.insecure'));
  let phone;
  try {
    phone = await begin(say, kind);
  } catch (err) {
    return stopped(err?.name === 'VersionError' ? say('shell.newer') : say('shell.no_store', { why: err?.message ?? '' }), reloader(say), ...copier(say));
  }
  if (phone.db.second) banner('store', say('shell.second'));
  const synced = await opened(phone);
  phone.syncer.listen(synced);
  idle(async () => {
    await worker(phone);
    idle(() => turning(phone));
  });
}

/** From now on a tap may turn to a zone's form without leaving the document. */
async function turning(phone) {
  const { Turning } = await import('./turn.js');
  await new Turning(phone).prepare();
}

/** A page of this document. @param {Phone} phone @param {Kind} kind @param {HTMLElement} root @param {string} search @returns {Page} */
export function pageOf(phone, kind, root, search) {
  const look = async (whole = kind.knowledge ?? true) => new View(phone.known = await load(phone.db, phone.known, whole));
  return Object.assign(Object.create(phone), { phone, kind, root, look, query: new URLSearchParams(search), end: new AbortController(), part: (/** @type {string} */ name) => part(name, root) });
}

/** Runs something when the page has nothing else to do, and soon in any case. */
export const idle = (/** @type {() => any} */ f) => (globalThis.requestIdleCallback ? requestIdleCallback(f, { timeout: 1000 }) : setTimeout(f, 50));

/** @param {import('./words.js').Say} first  in the browser's language @param {Kind} kind @returns {Promise<Phone>} */
async function begin(first, kind) {
  const db = await open({ blocked: () => banner('tabs', first('shell.close_tabs')) });
  const wanted = langOf(await db.read(['meta'], async (tx) => ({ me: await tx.get('meta', 'me'), lang: await tx.get('meta', 'lang') })));
  const { say, lang } = await inLanguage(wanted).catch(() => ({ say: first, lang: document.documentElement.lang }));
  const outbox = new Outbox(db);
  const foot = new Foot(outbox, say);
  /** @type {any} */
  const phone = { db, outbox, say, foot, lang, wanted, held: kind.form ? holdForm() : null };
  const hold = () => (phone.page.kind.form ? atFirst(db) : leave(false));
  phone.syncer = new Syncer({ db, outbox, app: build(), hold, tell: (state) => told(phone, state) });
  phone.record = (...args) => recorded(phone, args);
  phone.page = pageOf(phone, kind, part('page'), location.search);
  if (!db.second) rescue(phone);
  return phone;
}

/** A form holds this while it is open, so that nothing it is made of changes. @returns {Promise<() => void>} once it is held; lets go */
export function holdForm() {
  const { locks } = navigator;
  if (!locks) return Promise.resolve(() => {});
  return new Promise((held) => { locks.request(FORM_LOCK, { mode: 'shared' }, () => new Promise((go) => { held(() => go(undefined)); })); });
}

/** The page in another language: the same shell, made by the office in that language and kept by the worker. */
async function inLanguage(lang) {
  const say = await loadSay(lang);
  if (document.documentElement.lang === lang) return { say, lang };
  const path = lang === LANGS[0] ? location.pathname : location.pathname.replace('/field/', `/field/${lang}/`);
  const shell = new DOMParser().parseFromString(await (await fetch(path)).text(), 'text/html');
  const body = shell.querySelector('[data-page]');
  if (shell.documentElement.lang !== lang || body?.dataset.build !== build()) throw new Error(`no page of this release in ${lang}`);
  body.querySelector('noscript')?.remove();
  document.documentElement.lang = lang;
  document.title = shell.title;
  document.querySelector('[data-page]').replaceWith(document.adoptNode(body));
  return { say, lang };
}

/** Shows everything in another language from now on, for the person who holds this phone. @param {Page} page @param {any} me */
export async function speak(page, me, lang) {
  await page.db.note(['meta'], (tx) => tx.put('meta', { person: me.id, was: me.lang, lang }, 'lang'));
  location.reload();
}

/** What a bad day left in the second database is sent as well. */
async function rescue(phone) {
  const db = await leftover().catch(() => null);
  if (!db) return;
  const outbox = new Outbox(db);
  if ((await outbox.counts(0)).unsent === 0) return;
  phone.rescued = outbox;
  phone.foot.also = outbox;
  new Syncer({ db, outbox, pulls: false, tell: () => phone.foot.refresh() }).listen();
}

/** Leave for a form to fetch the packet: only while there is none, so that nothing can change under it. @returns {Promise<(() => void)|null>} */
async function atFirst(db) {
  const had = await db.read(['pack'], async (tx) => (await tx.get('pack', 'tags'))?.packet ?? (await tx.get('pack', 'packet'))?.etag);
  return had === undefined ? () => {} : null;
}

/** Leave to change what forms are made of: only while no form is open anywhere. @returns {Promise<(() => void)|null>} */
function leave(form) {
  if (!navigator.locks) return Promise.resolve(form ? null : () => {});
  return new Promise((resolve) => {
    navigator.locks.request(FORM_LOCK, { ifAvailable: true }, (lock) => {
      if (!lock) return resolve(null);
      return new Promise((release) => resolve(release));
    });
  });
}

async function recorded(phone, args) {
  const row = await phone.outbox.record(...args);
  phone.foot.refresh();
  phone.syncer.saved();
  persist(phone);
  return row;
}

/** Asks the browser to keep the store; never waited for, since some browsers ask the person and some never answer. */
export function persist(page, storage = navigator.storage) {
  if (page.asked || !storage?.persist) return;
  page.asked = true;
  new Promise((answer) => { answer(storage.persist()); }).then((kept) => page.db.note(['meta'], (tx) => tx.put('meta', kept, 'persisted'))).catch(() => {});
}

/** Draws when somebody has signed in on this phone before; else asks the office once who it is. @returns {Promise<boolean>} whether it was asked */
async function opened(phone) {
  const { page } = phone;
  let view = await page.look();
  phone.ready = true;
  await phone.foot.refresh();
  const asked = !view.known.me;
  if (asked) {
    await page.syncer.tapped();
    view = await page.look();
  }
  if (!view.known.me) stopped(page.say('shell.sign_in'), signIn(page.say));
  else if (!page.drawn) await redraw(page, view);
  return asked;
}

/** @param {Page} page @param {View} view */
export async function redraw(page, view) {
  const lang = langOf(view.known);
  if (lang !== page.wanted && !page.kind.form) return location.reload();
  page.drawn = view;
  await page.kind.draw(page, view);
}

/** The first packet this phone ever got shows before the rest has come. */
async function early({ page }) {
  const view = await page.look();
  if (view.known.me && !page.drawn) await redraw(page, view);
}

/** After a sync: what is new shows, and photos of spots that are visited next are fetched when nothing else is to do. */
async function again(phone) {
  const { page } = phone;
  const view = await page.look();
  if (view.known.me && page === phone.page) await redraw(page, view);
  idle(async () => keepLastPhotos(await page.look(true)).catch(() => {}));
}

function told(phone, { busy, result }) {
  const { page, say } = phone;
  phone.foot.busy = busy;
  phone.foot.refresh();
  if (busy) return result === 'packet' && !page.drawn && !page.kind.form ? early(phone) : undefined;
  const banners = { 'sign-in': [say('shell.send_sign_in'), signIn(say)], outdated: [say('shell.outdated'), reloader(say)], 'no-room': [say('shell.no_room')] };
  banner('sync', ...(banners[result] ?? []));
  if (result === 'ok' && phone.ready) again(phone);
  if (phone.registration) setTimeout(() => takeOver(phone), 100);
}

export function signIn(say) {
  return el('a', { class: 'btn', href: `/sign-in?next=${encodeURIComponent(location.pathname + location.search)}` }, say('shell.sign_in_do'));
}

function reloader(say) {
  return el('button', { type: 'button', class: 'btn', onclick: () => location.reload() }, say('shell.reload'));
}

/** A copy of what can still be read, from the screen that says that the page can't start. */
function copier(say) {
  const said = el('p', { class: 'said', role: 'status' });
  const save = async () => {
    try {
      said.textContent = counted(say, 'unsent.copied', await saveCopies(build()));
    } catch (err) {
      said.textContent = say('unsent.copy_failed', { why: err?.message ?? '' });
    }
  };
  return [el('button', { type: 'button', class: 'btn', onclick: save }, say('unsent.copy')), said];
}

/** The release whose shells this document is made of. */
export const build = () => part('build')?.dataset.build ?? '';

/** The page can't go on: one sentence, and what to do next. */
export function stopped(text, ...acts) {
  show(part('main'), el('div', { class: 'note stop' }, el('p', {}, text), ...acts));
}

/** The worker that answers without signal. The page works without it. */
async function worker(phone) {
  if (!navigator.serviceWorker) return;
  let had = navigator.serviceWorker.controller;
  navigator.serviceWorker.addEventListener('controllerchange', () => {
    if (had) location.reload();
    had = null;
  });
  try {
    phone.registration = await navigator.serviceWorker.register('/sw.js', { scope: '/field/', updateViaCache: 'none' });
    phone.registration.addEventListener('updatefound', () => {
      phone.registration.installing?.addEventListener('statechange', () => takeOver(phone));
    });
    takeOver(phone);
  } catch {
    if (!had) banner('worker', phone.say('shell.no_worker'));
  }
}

/** Lets a waiting release in when no form is open in any tab and no sync is running. */
async function takeOver(phone) {
  const waiting = phone.registration?.waiting;
  if (!waiting || phone.syncer.running || !navigator.serviceWorker.controller) return;
  const release = await leave(phone.page.kind.form);
  if (!release) return;
  await alone(navigator.locks, `swardbook-sync-${phone.db.name}`, async () => {
    phone.taking = true; // the document will be loaded anew: no form may be turned to
    waiting.postMessage({ kind: 'take over', build: build() });
  });
  release();
}

// What every page of the phone does: opens the store, keeps the foot line true, syncs, and lets a new release in when
// nothing can be lost by it.

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
 * @typedef {object} Page
 * @property {import('./db.js').Store} db
 * @property {Outbox} outbox
 * @property {Syncer} syncer
 * @property {import('./words.js').Say} say
 * @property {Foot} foot
 * @property {string} lang    the language shown
 * @property {string} wanted  the language it should be in
 * @property {URLSearchParams} query
 * @property {() => Promise<View>} look  everything the phone knows, read anew
 * @property {(form: string, body: object, photos?: any[], more?: object) => Promise<any>} record
 */

/** Starts a page; draw is called once the phone knows who it belongs to, and after each sync. @param {{form?: boolean, knowledge?: boolean, draw: (page: Page, view: View) => any}} opts  knowledge: whether the page draws from it */
export async function boot({ form = false, knowledge = true, draw }) {
  const say = await loadSay(langOf({})).catch(() => null);
  if (!say) return;
  if (!globalThis.isSecureContext || !globalThis.crypto?.subtle) return stopped(say('shell.insecure'));
  let page;
  try {
    page = await begin(say, form, knowledge);
  } catch (err) {
    return stopped(err?.name === 'VersionError' ? say('shell.newer') : say('shell.no_store', { why: err?.message ?? '' }), reloader(say), ...copier(say));
  }
  if (page.db.second) banner('store', say('shell.second'));
  const synced = await opened(page, draw);
  page.syncer.listen(synced);
  idle(() => worker(page));
}

/** Runs something when the page has nothing else to do, and soon in any case. @param {() => any} f */
const idle = (f) => (globalThis.requestIdleCallback ? requestIdleCallback(f, { timeout: 1000 }) : setTimeout(f, 50));

/** @param {import('./words.js').Say} first  in the browser's language @returns {Promise<Page>} */
async function begin(first, form, knowledge) {
  const db = await open({ blocked: () => banner('tabs', first('shell.close_tabs')) });
  const wanted = langOf(await db.read(['meta'], async (tx) => ({ me: await tx.get('meta', 'me'), lang: await tx.get('meta', 'lang') })));
  const { say, lang } = await inLanguage(wanted).catch(() => ({ say: first, lang: document.documentElement.lang }));
  const outbox = new Outbox(db);
  const build = document.querySelector('[data-build]')?.dataset.build ?? '';
  const foot = new Foot(outbox, say);
  const hold = form ? () => atFirst(db) : () => leave(form);
  const page = { db, outbox, say, foot, form, lang, wanted, query: new URLSearchParams(location.search) };
  page.syncer = new Syncer({ db, outbox, app: build, hold, tell: (state) => told(page, state) });
  page.look = async (whole = knowledge) => new View(page.known = await load(db, page.known, whole));
  page.record = (...args) => recorded(page, args);
  if (form) navigator.locks?.request(FORM_LOCK, { mode: 'shared' }, () => new Promise(() => {}));
  if (!db.second) rescue(page);
  return page;
}

/** The page in another language: the same shell, made by the office in that language and kept by the worker. */
async function inLanguage(lang) {
  const say = await loadSay(lang);
  if (document.documentElement.lang === lang) return { say, lang };
  const path = lang === LANGS[0] ? location.pathname : location.pathname.replace('/field/', `/field/${lang}/`);
  const shell = new DOMParser().parseFromString(await (await fetch(path)).text(), 'text/html');
  const body = shell.querySelector('[data-page]');
  if (shell.documentElement.lang !== lang || !body) throw new Error(`no page in ${lang}`);
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
async function rescue(page) {
  const db = await leftover().catch(() => null);
  if (!db) return;
  const outbox = new Outbox(db);
  if ((await outbox.counts(0)).unsent === 0) return;
  page.rescued = outbox;
  page.foot.also = outbox;
  new Syncer({ db, outbox, pulls: false, tell: () => page.foot.refresh() }).listen();
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

async function recorded(page, args) {
  const row = await page.outbox.record(...args);
  page.foot.refresh();
  page.syncer.saved();
  persist(page);
  return row;
}

/** Asks the browser to keep the store; never waited for, since some browsers ask the person and some never answer. */
export function persist(page, storage = navigator.storage) {
  if (page.asked || !storage?.persist) return;
  page.asked = true;
  new Promise((answer) => { answer(storage.persist()); }).then((kept) => page.db.note(['meta'], (tx) => tx.put('meta', kept, 'persisted'))).catch(() => {});
}

/** Draws when somebody has signed in on this phone before; else asks the office once who it is. @returns {Promise<boolean>} whether it was asked */
async function opened(page, draw) {
  let view = await page.look();
  page.draw = draw;
  await page.foot.refresh();
  const asked = !view.known.me;
  if (asked) {
    await page.syncer.tapped();
    view = await page.look();
  }
  if (!view.known.me) stopped(page.say('shell.sign_in'), signIn(page.say));
  else if (!page.drawn) await redraw(page, view);
  return asked;
}

async function redraw(page, view) {
  const lang = langOf(view.known);
  if (lang !== page.wanted && !page.form) return location.reload();
  page.drawn = view;
  await page.draw?.(page, view);
}

/** The first packet this phone ever got shows before the rest has come. */
async function early(page) {
  const view = await page.look();
  if (view.known.me && !page.drawn) await redraw(page, view);
}

/** After a sync: what is new shows, and photos of spots that are visited next are fetched when nothing else is to do. */
async function again(page) {
  const view = await page.look();
  if (view.known.me) await redraw(page, view);
  idle(async () => keepLastPhotos(await page.look(true)).catch(() => {}));
}

function told(page, { busy, result }) {
  page.foot.busy = busy;
  page.foot.refresh();
  if (busy) return result === 'packet' && !page.drawn && !page.form ? early(page) : undefined;
  const banners = { 'sign-in': [page.say('shell.send_sign_in'), signIn(page.say)], outdated: [page.say('shell.outdated'), reloader(page.say)], 'no-room': [page.say('shell.no_room')] };
  banner('sync', ...(banners[result] ?? []));
  if (result === 'ok' && page.draw) again(page);
  if (page.registration) setTimeout(() => takeOver(page), 100);
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

const build = () => document.querySelector('[data-build]')?.dataset.build ?? '';

/** The page can't go on: one sentence, and what to do next. */
export function stopped(text, ...acts) {
  show(part('main'), el('div', { class: 'note stop' }, el('p', {}, text), ...acts));
}

/** The worker that answers without signal. The page works without it. */
async function worker(page) {
  if (!navigator.serviceWorker) return;
  let had = navigator.serviceWorker.controller;
  navigator.serviceWorker.addEventListener('controllerchange', () => {
    if (had) location.reload();
    had = null;
  });
  try {
    page.registration = await navigator.serviceWorker.register('/sw.js', { scope: '/field/', updateViaCache: 'none' });
    page.registration.addEventListener('updatefound', () => {
      page.registration.installing?.addEventListener('statechange', () => takeOver(page));
    });
    takeOver(page);
  } catch {
    if (!had) banner('worker', page.say('shell.no_worker'));
  }
}

/** Lets a waiting release in when no form is open in any tab and no sync is running. */
async function takeOver(page) {
  const waiting = page.registration?.waiting;
  if (!waiting || page.syncer.running || !navigator.serviceWorker.controller) return;
  const release = await leave(page.form);
  if (!release) return;
  await alone(navigator.locks, `swardbook-sync-${page.db.name}`, async () => waiting.postMessage({ kind: 'take over', build: document.querySelector('[data-build]')?.dataset.build }));
  release();
}

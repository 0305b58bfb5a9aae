// Turning to the form of a zone, and back to its visit, within the document. What these pages are made of is fetched while
// nothing else is to do, so that a tap has only to put it in: a cheap phone takes the better part of a second to open a
// document. Whatever stands in the way, the link does what links do.

import { build, holdForm, idle, kinds, pageOf, redraw } from './shell.js';
import { part } from './dom.js';

/** The pages that can be turned to: by path, their shell's name and their module. @type {Record<string, {name: string, module: () => Promise<any>}>} */
const PAGES = {
  '/field/visit': { name: 'visit', module: () => import('./visit.js') },
  '/field/zone': { name: 'zone', module: () => import('./zone.js') },
};

const PATIENCE = 500; // ms for leave to open a form; only another tab that changes the packet just now holds it

/** A click that a browser would answer by leaving this document in this tab. @param {MouseEvent} e @returns {URL|null} where to */
function led(e) {
  const link = /** @type {HTMLAnchorElement|null} */ (/** @type {Element} */ (e.target).closest?.('a[href]'));
  if (!link || e.defaultPrevented || e.button !== 0 || e.metaKey || e.ctrlKey || e.shiftKey || e.altKey || link.target || link.hasAttribute('download')) return null;
  return new URL(link.href);
}

/** Puts two elements in each other's place. @param {Element} a @param {Element} b */
function swap(a, b) {
  const place = document.createComment('');
  a.replaceWith(place);
  b.replaceWith(a);
  place.replaceWith(b);
}

export class Turning {
  /** @param {import('./shell.js').Phone} phone */
  constructor(phone) {
    this.phone = phone;
    this.at = location.pathname + location.search;
    /** @type {Map<string, {title: string, root: HTMLElement}>} */
    this.shells = new Map();
    /** The visit that was turned away from, with what was half typed there. @type {{at: string, page: import('./shell.js').Page}|null} */
    this.visit = null;
    this.busy = false;
    /** A form with its controls in hand, of no zone yet. @type {import('./shell.js').Page|null} */
    this.spare = null;
    this.providing = false;
    document.addEventListener('click', (e) => this.clicked(e));
    addEventListener('popstate', () => this.stepped());
  }

  /** Fetches what the pages are made of, from the worker alone: it has the release this document is of. */
  async prepare() {
    if (!navigator.serviceWorker?.controller || this.phone.lang !== this.phone.wanted || !PAGES[location.pathname]) return;
    for (const [path, { name, module }] of Object.entries(PAGES)) {
      await module();
      const text = await (await fetch(this.phone.lang === 'en' ? path : path.replace('/field/', `/field/${this.phone.lang}/`))).text();
      const shell = new DOMParser().parseFromString(text, 'text/html');
      const root = /** @type {HTMLElement|null} */ (part('page', shell));
      if (root?.dataset.build !== build() || shell.documentElement.lang !== this.phone.lang) continue;
      part('main', root).querySelector('noscript')?.remove();
      this.shells.set(name, { title: shell.title, root });
    }
    await this.provide();
  }

  /** Makes the next form before anybody asks for it: that takes a cheap phone longer than all that is left to do then. */
  async provide() {
    const kind = kinds.get('zone');
    if (this.spare || this.providing || !kind?.make || !this.shells.has('zone') || this.phone.taking) return;
    this.providing = true;
    try {
      const page = this.blank(kind, 'zone', '');
      const view = await page.look();
      if (!view.known.me || !view.known.knowledge) return;
      await kind.make(page, view);
      this.spare = page;
    } finally {
      this.providing = false;
    }
  }

  /** Whether a page can be turned to. @param {URL|Location} url */
  can(url) {
    return url.origin === location.origin && !url.hash && !this.phone.taking && this.shells.has(PAGES[url.pathname]?.name);
  }

  /** @param {MouseEvent} e */
  clicked(e) {
    const url = led(e);
    if (!url || !this.can(url)) return;
    e.preventDefault();
    this.turn(url, true);
  }

  /** Back or forward to a page of this document. */
  stepped() {
    if (location.pathname + location.search === this.at) return;
    if (this.busy || !this.can(location)) return void location.reload();
    this.turn(location, false);
  }

  /** @param {URL|Location} url @param {boolean} onward  whether by a link rather than through the history */
  async turn(url, onward) {
    if (this.busy) return;
    this.busy = true;
    try {
      if (await this.left(onward) && !await this.opened(url, onward)) location.assign(url.href);
    } catch {
      location.assign(url.href);
    } finally {
      this.busy = false;
    }
  }

  /** Whether the page that shows can be left: not while something given there is in trouble. */
  async left(onward) {
    const { page } = this.phone;
    const free = await (page.kind.leave?.(page) ?? true);
    if (!free && !onward) history.pushState(null, '', this.at);
    return free;
  }

  /** @param {URL|Location} url @param {boolean} onward */
  async opened(url, onward) {
    const { phone } = this;
    const { name } = PAGES[url.pathname];
    const kind = kinds.get(name);
    if (!kind) return false;
    const first = this.made(name, kind, url);
    const view = await this.seen(kind, first);
    if (!view) return false;
    const page = await this.ready(kind, first, view);
    this.away(page);
    if (onward) {
      history.replaceState({ top: scrollY }, '');
      history.pushState(null, '', url.href);
    }
    this.at = url.pathname + url.search;
    this.put(page, /** @type {any} */ (this.shells.get(name)).title, onward ? 0 : history.state?.top ?? 0);
    redraw(page, view).catch(() => location.reload());
    if (!kind.form) {
      (await phone.held)?.();
      phone.held = null;
    }
    idle(() => this.provide().catch(() => {}));
    return true;
  }

  /** What the phone knows, with leave for a form to be open; null when it may not be, or nobody has signed in. */
  async seen(kind, page) {
    let read = false, late = false;
    const held = this.held(kind).then((may) => {
      late = read;
      return may;
    });
    let view = await page.look();
    read = true;
    if (!await held) return null;
    if (late) view = await page.look(); // whoever held us up may have changed what there is to know
    return view.known.me ? view : null;
  }

  /** Makes a page what its address says, before it shows; what was made of knowledge that has changed since is made anew. */
  async ready(kind, first, view) {
    if (!kind.make || !view.known.knowledge) return first;
    let page = first;
    if (page.shown && !kind.fits(page, view)) {
      page.end.abort();
      page = this.blank(kind, 'zone', `?${page.query}`);
    }
    if (!page.shown) await kind.make(page, view);
    kind.fill(page, view);
    return page;
  }

  /** A form is opened with leave to be open, as long as that comes soon. @param {import('./shell.js').Kind} kind */
  async held(kind) {
    if (!kind.form) return true;
    this.phone.held ??= holdForm();
    return Promise.race([this.phone.held.then(() => true), new Promise((late) => { setTimeout(() => late(false), PATIENCE); })]);
  }

  /** The page to show: a visit as it was left, the form that was made ready, else a new one. */
  made(name, kind, url) {
    if (name === 'visit') return this.visit?.at === url.pathname + url.search ? this.visit.page : this.blank(kind, name, url.search);
    const page = this.spare ?? this.blank(kind, name, url.search);
    this.spare = null;
    page.query = new URLSearchParams(url.search);
    return page;
  }

  /** A page as the office made it. @returns {import('./shell.js').Page} */
  blank(kind, name, search) {
    return pageOf(this.phone, kind, document.importNode(/** @type {any} */ (this.shells.get(name)).root, true), search);
  }

  /** What the page that shows leaves behind. @param {import('./shell.js').Page} next */
  away(next) {
    const { page } = this.phone;
    if (page.root.dataset.page === 'visit') this.visit = { at: this.at, page };
    else page.end.abort();
    if (next.root.dataset.page !== 'visit') return;
    if (this.visit?.page !== next) this.visit?.page.end.abort();
    this.visit = null;
  }

  /** Puts a page in the place of the one that shows. What is said of the phone stays said. */
  put(page, title, top) {
    const { phone } = this;
    const old = phone.page.root;
    for (const name of ['banners', 'foot']) swap(part(name, page.root), part(name, old));
    phone.page = page;
    document.title = title;
    old.replaceWith(page.root);
    scrollTo(0, top);
    const head = part('title', page.root);
    head.tabIndex = -1;
    head.focus({ preventScroll: true });
  }
}

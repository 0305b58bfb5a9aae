// Fetching what others recorded (the feed), the day packet and the knowledge. All of it is a cache: losing it means
// asking again, and nothing here touches what was recorded on this phone.

import { Stop, whole0 } from './net.js';

const PAGE = 500;
const MOST_PAGES = 200;

/** @param {any} json */
function readFeed(json) {
  if (!json || typeof json.epoch !== 'string' || json.epoch === '' || !whole0(json.next) || !Array.isArray(json.rows)) return null;
  const rows = json.rows.filter((r) => r && whole0(r.seq));
  return { epoch: json.epoch, next: json.next, more: json.more === true, rows, gone: Array.isArray(json.gone) ? json.gone.filter(whole0) : [] };
}

/** @param {any} json */
function readPack(json) {
  const lists = ['days', 'visits', 'properties', 'clients', 'zones', 'readings', 'diagnoses'];
  if (!json || typeof json.epoch !== 'string' || !whole0(json.seq) || !lists.every((k) => Array.isArray(json[k]))) return null;
  return typeof json.person?.id === 'string' ? json : null;
}

/** Whether the knowledge never came: a page was left before it did. Then no form can be made of it, and none can change by its coming. @param {import('./db.js').Tx} tx */
export async function unknowing(tx) {
  return !(await tx.get('pack', 'tags'))?.catalogue && !(await tx.get('pack', 'catalogue')) && !(await tx.get('pack', 'knowledge'));
}

/** The tags of what is large stand beside it, so that it need not be read to know what it is. @param {import('./db.js').Tx} tx @param {any} more */
async function retag(tx, more) {
  await tx.put('pack', { ...(await tx.get('pack', 'tags')), ...more }, 'tags');
}

export class Puller {
  /** @param {{db: import('./db.js').Store, net: import('./net.js').Net, packed?: () => void}} parts  packed is told once the packet is there */
  constructor({ db, net, packed = () => {} }) {
    Object.assign(this, { db, net, packed });
  }

  /** @param {() => Promise<(() => void)|null>} hold  gets leave to swap the packet, null while a form is open */
  async all(hold) {
    await this.me();
    await this.feed();
    const release = await hold();
    try {
      if (release) {
        await this.pack();
        this.packed();
      }
      if (release || await this.db.read(['pack'], unknowing)) await this.knowledge();
    } finally {
      release?.();
    }
  }

  /** Who is signed in. Rows already recorded keep their author. */
  async me() {
    const { status, json } = await this.net.call('/api/v1/me');
    if (status !== 200 || typeof json?.id !== 'string') throw new Stop('no-answer', 0, status);
    await this.db.note(['meta'], (tx) => tx.put('meta', { id: json.id, name: String(json.name ?? ''), role: String(json.role ?? ''), lang: String(json.lang ?? 'en') }, 'me'));
  }

  async feed() {
    for (let pages = 0; pages < MOST_PAGES; pages++) {
      const cursor = await this.db.read(['meta'], (tx) => tx.get('meta', 'feed')) ?? { epoch: '', next: 0 };
      const query = new URLSearchParams({ epoch: cursor.epoch, since: String(cursor.next), limit: String(PAGE) });
      const { status, json } = await this.net.call(`/api/v1/feed?${query}`);
      const page = status === 200 ? readFeed(json) : null;
      if (!page) throw new Stop('no-answer', 0, status);
      if (cursor.epoch !== '' && page.epoch !== cursor.epoch) await this.forget(page.epoch);
      else if (!(await this.apply(page, cursor))) continue;
      if (page.epoch === cursor.epoch && !page.more) return;
      if (cursor.epoch === '' && !page.more) return;
    }
  }

  /**
   * The page and where to go on, in one transaction. Where the place moved while the page was asked for (another tab, room made for
   * a save), the page would leave a hole and does not count.
   * @returns {Promise<boolean>} whether it counts
   */
  apply(page, asked) {
    return this.db.note(['others', 'meta'], async (tx) => {
      const at = (await tx.get('meta', 'feed')) ?? { epoch: '', next: 0 };
      if (at.epoch !== asked.epoch || at.next !== asked.next) return false;
      await Promise.all(page.rows.map((row) => tx.put('others', row)));
      await Promise.all(page.gone.map((seq) => tx.delete('others', seq)));
      await tx.put('meta', { epoch: page.epoch, next: page.next }, 'feed');
      return true;
    });
  }

  /** The office's database is another one: what was pulled from the old one goes, what was recorded here stays. */
  forget(epoch) {
    return this.db.note(['others', 'meta', 'pack'], async (tx) => {
      await tx.clear('others');
      const packet = await tx.get('pack', 'packet');
      if (packet) await tx.put('pack', { ...packet, etag: '' }, 'packet');
      await retag(tx, { packet: '' });
      await tx.put('meta', { epoch, next: 0 }, 'feed');
    });
  }

  /** What the office has anew; null when the phone has it already. @param {string} key @param {string} url @param {boolean} [raw] */
  async fresh(key, url, raw = false) {
    const tag = await this.db.read(['pack'], async (tx) => (await tx.get('pack', 'tags'))?.[key] ?? (await tx.get('pack', key))?.etag);
    const answer = await this.net.call(url, { headers: tag ? { 'If-None-Match': tag } : {}, raw });
    if (answer.status === 304) return null;
    if (answer.status !== 200) throw new Stop('no-answer', 0, answer.status);
    return answer;
  }

  /** The knowledge is kept as its text: most pages need little of it or nothing, and reading it takes a cheap phone a while. */
  async knowledge() {
    const answer = await this.fresh('catalogue', '/api/v1/knowledge.json', true);
    if (!answer) return;
    const text = answer.text?.trim() ?? '';
    if (!text.startsWith('{') || !text.endsWith('}') || !text.includes('"checks":[')) throw new Stop('no-answer');
    const etag = answer.headers.get('ETag') ?? '';
    const edition = etag.replace(/^W\//, '').replaceAll('"', '');
    await this.db.note(['pack'], async (tx) => {
      await tx.put('pack', { etag, edition, text }, 'catalogue');
      await tx.delete('pack', 'knowledge');
      await retag(tx, { catalogue: etag });
    });
  }

  /** Swaps the day packet whole; rows of the feed that it already holds go with the same transaction. */
  async pack() {
    const answer = await this.fresh('packet', '/api/v1/pack');
    if (!answer) return this.checked();
    const body = readPack(answer.json);
    if (!body) throw new Stop('no-answer');
    const etag = answer.headers.get('ETag') ?? '';
    await this.db.note(['pack', 'others', 'meta'], async (tx) => {
      const checked = Date.parse(body.now) || 0;
      await tx.put('pack', { etag, body, checked }, 'packet');
      await retag(tx, { packet: etag, checked });
      await Promise.all((await tx.all('others', { to: body.seq })).map((row) => tx.delete('others', row.seq)));
      const cursor = await tx.get('meta', 'feed');
      if (!cursor || cursor.epoch !== body.epoch || cursor.next < body.seq) await tx.put('meta', { epoch: body.epoch, next: body.seq }, 'feed');
    });
  }

  checked() {
    return this.db.note(['pack'], (tx) => retag(tx, { checked: Date.now() }));
  }
}

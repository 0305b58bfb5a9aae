// The engine beside the page: in a worker, so that a touch never waits for it. Where a worker can't be had, in the page.

/** Under the pages' own path, so that the worker that answers without signal answers for it too. */
const PLACE = '/field/think.js';

/** @returns {Worker|null} */
function worker() {
  try {
    if (!globalThis.Worker || !globalThis.document) return null;
    const build = document.querySelector('[data-build]')?.getAttribute('data-build') ?? '';
    return new Worker(`${PLACE}?release=${build}`, { type: 'module' }); // the office has it for its own release only
  } catch {
    return null;
  }
}

export class Beside {
  /** @param {{body: any, edition: string}} knowledge @param {() => Worker|null} [make] */
  constructor(knowledge, make = worker) {
    Object.assign(this, { knowledge, make, n: 0, waiting: new Map(), other: undefined, here: null });
  }

  /** @param {string} what @param {any} about @returns {Promise<any>} */
  async ask(what, about) {
    this.begin();
    if (!this.other) return (await this.inPage())(what, about);
    return new Promise((resolve, reject) => {
      const n = ++this.n;
      this.waiting.set(n, { what, about, resolve, reject });
      this.other.postMessage({ n, what, about });
    });
  }

  /** Makes answers faster while nothing is asked. Of use beside the page only: in it, it would be in the way. @param {any} about */
  warm(about) {
    this.begin();
    this.other?.postMessage({ what: 'warm', about });
  }

  begin() {
    if (this.other !== undefined) return;
    this.other = this.make();
    if (!this.other) return;
    this.other.onmessage = ({ data }) => this.heard(data);
    this.other.onerror = () => this.lost();
    const { text, edition } = this.knowledge;
    this.other.postMessage({ what: 'begin', about: text ? { text, edition } : { body: this.knowledge.body, edition } });
  }

  heard({ n, answer, fault }) {
    const asked = this.waiting.get(n);
    this.waiting.delete(n);
    if (fault) asked?.reject(Object.assign(new Error(fault.message), fault));
    else asked?.resolve(answer);
  }

  /** The worker could not be fetched or died: what it was asked is answered here. */
  lost() {
    this.other?.terminate();
    this.other = null;
    const open = [...this.waiting.values()];
    this.waiting.clear();
    for (const { what, about, resolve, reject } of open) this.ask(what, about).then(resolve, reject);
  }

  inPage() {
    this.here ??= import('./thinker.js').then(({ thinker }) => thinker(this.knowledge));
    return this.here;
  }
}

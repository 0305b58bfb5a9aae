// The photos of one zone: taken in, kept with their reading in one transaction, shown from the phone's own bytes.

import { NoPicture, takeIn } from './camera.js';
import { el, mark, part, show } from './dom.js';
import { blank } from './view.js';
import { keptPhoto, lastPhoto } from './lastphotos.js';
import { clockTime, dayName, short } from './words.js';

/**
 * Whether the client of a visit's property wants no photos taken.
 * @param {{visits: Map<string, any>, place: (visit: any) => {client: any}}} view
 * @param {string} visit
 */
export function photosRefused(view, visit) {
  return view.place(view.visits.get(visit)).client?.photos === 'no';
}

export class Photos {
  /**
   * @param {import('./shell.js').Page} page
   * @param {{checks: Map<string, any>, edition: string, before: () => Promise<void>, changed: () => void}} about
   */
  constructor(page, about) {
    Object.assign(this, { page, visit: '', zone: '', ...about, urls: new Map(), busy: Promise.resolve() });
    this.boxes = [...page.part('form').querySelectorAll('fieldset[data-kind="photo"]')].filter((b) => this.checks.has(b.dataset.check));
    for (const box of this.boxes) this.bind(box);
  }

  /** @param {HTMLElement} box */
  bind(box) {
    const input = box.querySelector('input[type=file]');
    input.addEventListener('click', () => { this.before(); });
    input.addEventListener('change', () => this.picked(box, input));
  }

  async picked(box, input) {
    const file = input.files[0];
    if (!file) return;
    await this.take(box, file);
    input.value = '';
  }

  /** When every photo that was taken is kept, or said not to be. */
  settled() {
    return this.busy;
  }

  /** The pictures are not shown any more. */
  letGo() {
    for (const url of this.urls.values()) URL.revokeObjectURL(url);
    this.urls.clear();
  }

  take(box, file) {
    this.busy = Promise.all([this.busy, this.takeOne(box, file)]);
    return this.busy;
  }

  async takeOne(box, file) {
    const { say } = this.page;
    if (photosRefused(await this.page.look(), this.visit)) return this.said(box, 'not', say('photo.refused'));
    this.said(box, 'going', say('kept.going'));
    this.failing = undefined;
    try {
      this.problem(box, '', false);
      const { taken, drawn, ...picture } = await takeIn(file);
      await this.keep(box, picture, taken);
      if (!drawn) this.problem(box, say('photo.unseen'), false);
    } catch (err) {
      if (err instanceof NoPicture) {
        this.said(box, '', '');
        return this.problem(box, say('photo.no_picture', { name: short(file.name) }), true);
      }
      const why = err?.name === 'QuotaExceededError' ? say('kept.full') : say('kept.phone', { why: err?.message ?? '' });
      this.failing = box.dataset.check;
      this.said(box, 'not', say('kept.not', { why }));
    }
  }

  /** The record and its picture are both there or both not. */
  async keep(box, picture, taken) {
    const body = { visit: this.visit, zone: this.zone, check: box.dataset.check, typed: picture.sha, edition: this.edition, ...(taken ? { taken } : {}) };
    const base = (await this.page.look()).base(this.visit, this.zone, box.dataset.check);
    const row = await this.page.record('reading', body, [picture], { base });
    this.said(box, 'kept', this.page.say('kept.phone_at', { time: clockTime(row.saved) }));
    await this.draw(await this.page.look());
    this.changed();
  }

  /** @param {HTMLElement} box @param {string} text @param {boolean} wrong */
  problem(box, text, wrong) {
    const host = part('problem', box);
    show(host, text);
    host.classList.toggle('ask', !wrong);
    mark([box.querySelector('input[type=file]')], host, wrong);
  }

  said(box, name, text) {
    const host = part('said', box);
    host.className = `said ${name}`;
    host.textContent = text;
  }

  /** Whose photos are taken from now on, and whether any may be. */
  restore(view, visit, zone) {
    Object.assign(this, { visit, zone });
    for (const box of this.boxes) this.refuse(box, photosRefused(view, visit));
  }

  /** Every photo of the zone, from this phone when it has the bytes, else from the office. */
  async draw(view) {
    const refused = photosRefused(view, this.visit);
    for (const box of this.boxes) {
      const list = view.all(this.visit, this.zone, box.dataset.check).filter((r) => !blank(r.typed));
      const pictures = await Promise.all(list.map(async (r, i) => el('img', { src: await this.source(r.typed), alt: this.page.say('photo.alt', { n: i + 1, time: clockTime(Date.parse(r.at)) }), width: 96, height: 96 })));
      part('photos', box).replaceChildren(...pictures);
      if (!refused) this.guide(view, box);
    }
  }

  /** Where the client wants no photos, none can be taken; those that were taken before stay. */
  refuse(box, refused) {
    part('refused', box).hidden = !refused;
    part('camera', box).hidden = refused;
    if (refused) part('guide', box).hidden = true;
  }

  /** With a last photo of this spot at hand and a camera, the next one can be taken over it. */
  async guide(view, box) {
    const button = part('guide', box);
    const last = lastPhoto(view, this.visit, this.zone);
    if (!last || !navigator.mediaDevices?.getUserMedia) return;
    const src = await this.source(last.sha);
    button.hidden = false;
    button.onclick = async () => (await import('./shooter.js')).shoot(this.page.say, src, dayName(last.day), (/** @type {File} */ file) => this.take(box, file));
  }

  async source(sha) {
    if (this.urls.has(sha)) return this.urls.get(sha);
    const { bytes, photo } = await this.page.db.read(['blobs', 'photos'], async (tx) => ({ bytes: await tx.get('blobs', sha), photo: await tx.get('photos', sha) }));
    const kept = bytes ? new Blob([bytes], { type: photo?.type ?? 'image/jpeg' }) : await keptPhoto(sha).catch(() => null);
    if (!kept) return `/api/v1/photos/${sha}`;
    const url = URL.createObjectURL(kept);
    this.urls.set(sha, url);
    return url;
  }
}

// What the phone helps to work out for a check. Which check has which aid is the catalogue's.

import { Sheet } from './aidparts.js';
import { el, part } from './dom.js';

/** An aid is fetched when it is first opened; the worker has it. @type {Record<string, () => Promise<any>>} */
const AIDS = {
  cans: () => import('./aidcans.js'), frame: () => import('./aidframe.js'), points: () => import('./aidpoints.js'), sun: () => import('./aidsun.js'), wetting: () => import('./aidwetting.js'),
};

/**
 * Draws an aid when it is first opened.
 * @param {any} page @param {{form: import('./form.js').Form, know: any, day: () => string, rain: () => {day: string, mm: number}[]}} about
 */
export function bindAids(page, { form, know, day, rain }) {
  for (const box of page.root.querySelectorAll('[data-aid]')) {
    const { aid, for: check } = /** @type {HTMLElement} */ (box).dataset;
    const fetched = AIDS[aid];
    if (!fetched) continue;
    box.addEventListener('toggle', async () => {
      if (box.hasAttribute('data-drawn')) return box.dispatchEvent(new Event('look'));
      box.setAttribute('data-drawn', '');
      const made = await fetched().catch(() => null);
      if (!made) { // without the worker, and the office has moved on to another release
        box.removeAttribute('data-drawn');
        part('body', box).replaceChildren(el('p', { class: 'said not', role: 'alert' }, page.say('aid.gone')));
        return undefined;
      }
      part('body', box).replaceChildren();
      const sheet = new Sheet(page, `aid ${form.zone} ${check}`, structuredClone(made.begin));
      sheet.know = know;
      await sheet.restore().catch(() => {});
      made.draw(sheet, part('body', box), { day: day(), give: (/** @type {string} */ text) => form.give(check, text), more: (/** @type {string} */ text) => form.more(check, text), check: form.checks.get(check), cores: () => form.numbers(check), rain, metric: form.metric });
      part('body', box).append(sheet.trouble = el('p', { class: 'said not', role: 'alert', hidden: true }));
      box.addEventListener('look', () => sheet.changed());
      return sheet.changed();
    });
  }
}

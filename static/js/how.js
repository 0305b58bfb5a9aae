// How a check is done: two lines and a drawing, made when somebody asks, since a form of many checks is large enough.

import { drawing, el } from './dom.js';

/** The two lines, and what is needed. @param {any} check @param {import('./words.js').Say} say @param {string} lang */
export function howTo(check, say, lang) {
  const text = (/** @type {any} */ t) => (lang === 'es' && t?.es ? t.es : t?.en ?? '');
  const tool = text(check.tool);
  const needs = [check.minutes > 0 ? say('check.minutes', { n: check.minutes }) : '', tool ? say('check.tool', { tool }) : ''];
  return el('div', { class: 'how-body' }, check.drawing ? drawing(check.drawing) : null,
    el('div', {}, el('p', {}, text(check.how_to)), el('p', { class: 'soft' }, needs.filter(Boolean).join(' · '))));
}

/** @param {HTMLElement} form @param {Map<string, any>} checks @param {{say: import('./words.js').Say, lang: string}} page */
export function bindHows(form, checks, { say, lang }) {
  form.addEventListener('toggle', ({ target }) => {
    const box = /** @type {HTMLElement} */ (target);
    if (!box.matches('details.how') || box.querySelector('.how-body')) return;
    const check = checks.get(/** @type {HTMLElement} */ (box.closest('[data-check]')).dataset.check ?? '');
    if (check) box.append(howTo(check, say, lang));
  }, true);
}

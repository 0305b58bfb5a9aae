// Cover by points: walk across the zone, look straight down at the toe at every second step, press what it meets.

import { figure } from './aidparts.js';
import { cover } from './frame.js';
import { el, show } from './dom.js';

const ENOUGH = 50; // points; below, the range is wider than a glance would be; our own judgement

export const begin = { met: '' };

/** @param {import('./aidparts.js').Sheet} sheet @param {HTMLElement} host @param {{more: (text: string) => boolean}} about */
export function draw(sheet, host, { more }) {
  const { state, page: { say } } = sheet;
  const told = el('div', { class: 'aid-told', 'aria-live': 'polite' });
  const press = (/** @type {string} */ letter, /** @type {string} */ text) => el('button', { type: 'button', class: 'btn tally-btn', 'data-met': letter, onclick: () => sheet.set('met', state.met + letter) }, text);
  const undo = el('button', { type: 'button', class: 'btn', 'data-undo': true, onclick: () => sheet.set('met', state.met.slice(0, -1)) }, say('points.undo'));
  sheet.changed = () => {
    const all = state.met.length, hits = [...state.met].filter((m) => m === 'x').length;
    undo.hidden = all === 0;
    if (all === 0) return show(told);
    const { share, low, high } = cover(hits, all);
    const n = figure(share * 100, 0);
    return show(told, el('p', {}, el('b', {}, say('points.found', { hits, all, n })), ' ', say('points.range', { low: figure(low * 100, 0), high: figure(high * 100, 0) })),
      all < ENOUGH ? el('p', { class: 'soft' }, say('points.few', { n: ENOUGH - all })) : null,
      el('button', { type: 'button', class: 'btn go', 'data-take': true, onclick: () => { if (more(n)) sheet.set('met', ''); } }, say('frame.take', { what: n })));
  };
  host.append(el('p', {}, say('points.how')), el('div', { class: 'tally-row' }, press('x', say('points.hit')), press('o', say('points.miss'))), undo, told);
}

// Counting in a frame: press once for each one found, say how large the frame is, and it becomes a count per area.

import { figure, numberField, pickField } from './aidparts.js';
import { FRAMES, PER, perArea } from './frame.js';
import { el, show } from './dom.js';

export const begin = { count: 0, frame: 'foot', wide: '', long: '' };

/** @param {import('./aidparts.js').Sheet} sheet @param {HTMLElement} host @param {{more: (text: string) => boolean, check: any}} about */
export function draw(sheet, host, { more, check }) {
  const { state, page: { say, lang } } = sheet;
  const unit = check.units[0];
  const per = /** @type {keyof typeof PER} */ (unit.id in PER ? unit.id : 'sqft');
  const wide = numberField(sheet, 'wide', say('frame.wide'), { low: 1, high: 60, unit: 'in' });
  const long = numberField(sheet, 'long', say('frame.long'), { low: 1, high: 60, unit: 'in' });
  const own = el('div', { class: 'pair-fields' }, wide.node, long.node);
  const said = el('b', { class: 'tally', 'aria-live': 'polite' });
  const told = el('div', { class: 'aid-told', 'aria-live': 'polite' });
  const size = () => {
    if (state.frame !== 'own') return FRAMES[state.frame];
    const w = wide.get(), l = long.get();
    return w !== null && l !== null ? w * l : null;
  };
  const step = (/** @type {number} */ by) => el('button', { type: 'button', class: 'btn tally-btn', 'data-tally': by, 'aria-label': `${by > 0 ? '+1' : '−1'}: ${say(by > 0 ? 'frame.one_more' : 'frame.one_less')}`, onclick: () => sheet.set('count', Math.max(0, state.count + by)) }, by > 0 ? '+1' : '−1');
  sheet.changed = () => {
    own.hidden = state.frame !== 'own';
    said.textContent = String(state.count);
    const inches = size();
    const label = (lang === 'es' && unit.label.es) || unit.label.en;
    if (!inches) return show(told, el('p', { class: 'soft' }, say('frame.need')));
    const n = figure(perArea(state.count, inches, per), 1).replace(/\.0$/, '');
    return show(told, el('p', {}, el('b', {}, `${n} ${label}`), ' ', say('frame.each', { n: figure(perArea(1, inches, per), 1) })),
      el('button', { type: 'button', class: 'btn go', 'data-take': true, onclick: () => { if (more(n)) sheet.set('count', 0); } }, say('frame.take', { what: n })));
  };
  host.append(el('p', {}, say('frame.how')), pickField(sheet, 'frame', say('frame.size'), /** @type {[string, string][]} */ (['foot', 'can', 'cup', 'own'].map((f) => [f, say(`frame.${f}`)]))), own,
    el('div', { class: 'tally-row' }, step(-1), said, step(+1)), told);
}

// How deep the last rain or watering should have wetted the soil, so that cores are judged against it.

import { figure, numberField, pickField } from './aidparts.js';
import { HOLDS, wettingDepth } from './wetting.js';
import { el, show } from './dom.js';

export const begin = { water: '', soil: 'loam', dried: '0.5' };

/** @param {import('./aidparts.js').Sheet} sheet @param {HTMLElement} host @param {{cores: () => number[]}} about  cores in inches */
export function draw(sheet, host, { cores }) {
  const { state, page: { say } } = sheet;
  const water = numberField(sheet, 'water', say('wetting.water'), { low: 0, high: 12, unit: 'in' });
  const told = el('div', { class: 'aid-told', 'aria-live': 'polite' });
  sheet.changed = () => {
    const w = water.get();
    if (!(w > 0)) return show(told, null);
    const [most, least] = HOLDS[state.soil].map((held) => wettingDepth(w, held, Number(state.dried)));
    const all = cores();
    const short = all.filter((c) => c < least).length;
    return show(told, el('p', {}, el('b', {}, say('wetting.depth', { low: figure(least, 1), high: figure(most, 1) }))),
      all.length > 0 ? el('p', { 'data-judged': short }, short > 0 ? say('wetting.short', { n: short, all: all.length }) : say('wetting.fits', { all: all.length })) : el('p', { class: 'soft' }, say('wetting.cores')));
  };
  host.append(el('p', {}, say('wetting.how')), water.node, pickField(sheet, 'soil', say('cans.soil'), Object.keys(HOLDS).map((s) => [s, say(`soil.${s}`)])),
    pickField(sheet, 'dried', say('wetting.before'), [['0.25', say('wetting.moist')], ['0.5', say('wetting.half')], ['1', say('wetting.dry')]]), told);
}

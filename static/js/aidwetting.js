// How deep the last rain or watering should have wetted the soil, so that cores are judged against it.

import { figure, numberField, pickField } from './aidparts.js';
import { HOLDS, lastRain, wettingDepth } from './wetting.js';
import { el, show } from './dom.js';
import { dayName } from './words.js';

const INCH = 25.4; // mm

export const begin = { water: '', water_mm: '', soil: 'loam', dried: '0.5' };

/** @param {import('./aidparts.js').Sheet} sheet @param {HTMLElement} host @param {{cores: () => number[], rain: () => {day: string, mm: number}[], metric: boolean}} about  cores in inches, and wet days by the weather that the office took in */
export function draw(sheet, host, { cores, rain, metric }) {
  const { state, page: { say } } = sheet;
  const name = metric ? 'water_mm' : 'water';
  const water = numberField(sheet, name, say(metric ? 'wetting.water_mm' : 'wetting.water'), metric ? { low: 0, high: 300, unit: 'mm' } : { low: 0, high: 12, unit: 'in' });
  const long = (/** @type {number} */ inches) => (metric ? figure(inches * INCH / 10, 0) : figure(inches, 1)); // cm, as soil is measured
  const fell = lastRain(rain());
  const told = el('div', { class: 'aid-told', 'aria-live': 'polite' });
  /** The rain that the office knows of, to be taken over and mended: a gauge on the lawn knows better. */
  const fallen = (/** @type {{inches: number, day: string}} */ { inches, day }) => {
    const amount = figure(metric ? inches * INCH : inches, metric ? 0 : 2);
    const use = () => {
      water.input.value = amount;
      sheet.set(name, amount);
    };
    return [el('p', { 'data-rain': true }, say('wetting.rain', { amount: `${amount} ${metric ? 'mm' : 'in'}`, day: dayName(day) })),
      el('button', { type: 'button', class: 'btn', 'data-rain-use': true, onclick: use }, say('wetting.rain_use'))];
  };
  sheet.changed = () => {
    const w = (water.get() ?? 0) / (metric ? INCH : 1);
    if (!(w > 0)) return show(told, null);
    const [most, least] = HOLDS[state.soil].map((held) => wettingDepth(w, held, Number(state.dried)));
    const all = cores();
    const short = all.filter((c) => c < least).length;
    return show(told, el('p', {}, el('b', {}, say(metric ? 'wetting.depth_cm' : 'wetting.depth', { low: long(least), high: long(most) }))),
      all.length > 0 ? el('p', { 'data-judged': short }, short > 0 ? say('wetting.short', { n: short, all: all.length }) : say('wetting.fits', { all: all.length })) : el('p', { class: 'soft' }, say('wetting.cores')));
  };
  host.append(el('p', {}, say('wetting.how')), ...(fell ? fallen(fell) : []), water.node, pickField(sheet, 'soil', say('cans.soil'), Object.keys(HOLDS).map((s) => [s, say(`soil.${s}`)])),
    pickField(sheet, 'dried', say('wetting.before'), [['0.25', say('wetting.moist')], ['0.5', say('wetting.half')], ['1', say('wetting.dry')]]), told);
}

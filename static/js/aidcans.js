// Catch cans in the yard: how to lay them out, a timer, the readings, and at once the uniformity, the rate and the run time.

import { figure, numberField, pickField, rowField } from './aidparts.js';
import { GROUND, SLOPES, audit, cycles, mouth, rateOfDepth, rateOfVolume, runTime, wholeMinutes } from './cans.js';
import { el, show, svg } from './dom.js';
import { counted } from './words.js';

const CELL = 40;
const MM = { in: 25.4, mm: 1 };

export const begin = { cans: [], unit: 'in', wide: '4', minutes: '', across: '', water: '', soil: 'loam', slope: '0', started: 0 };

/** The cans where they stand, the lowest quarter ringed. @param {number[]} catches @param {number} wide @param {number} lowest how many are ringed */
export function sketch(catches, wide, lowest) {
  const most = Math.max(...catches, 1e-9);
  const order = catches.map((_, i) => i).sort((a, b) => catches[a] - catches[b]);
  const low = new Set(order.slice(0, lowest));
  const rows = Math.ceil(catches.length / wide);
  const at = (/** @type {number} */ i) => ({ x: i % wide * CELL + CELL / 2, y: Math.floor(i / wide) * CELL + CELL / 2 });
  return svg('svg', { class: 'can-map', viewBox: `0 0 ${wide * CELL} ${rows * CELL}`, 'aria-hidden': 'true', focusable: 'false' },
    svg('rect', { class: 'lawn', x: 1, y: 1, width: wide * CELL - 2, height: rows * CELL - 2, rx: 6 }),
    catches.map((c, i) => [svg('circle', { class: 'level', cx: at(i).x, cy: at(i).y, r: 3 + 11 * c / most }),
      low.has(i) ? svg('circle', { class: 'low', cx: at(i).x, cy: at(i).y, r: 17 }) : null]).flat());
}

/** @param {import('./aidparts.js').Sheet} sheet @param {HTMLElement} host @param {{give: (text: string) => void}} about */
export function draw(sheet, host, { give }) {
  const { state, page: { say } } = sheet;
  const cans = rowField(sheet, 'cans', say('cans.readings'), { low: 0, high: 2000 });
  const wide = numberField(sheet, 'wide', say('cans.wide'), { low: 1, high: 20 });
  const minutes = numberField(sheet, 'minutes', say('cans.minutes'), { low: 0.5, high: 240, unit: 'min' });
  const across = numberField(sheet, 'across', say('cans.across'), { low: 1, high: 100, unit: 'cm' });
  const water = numberField(sheet, 'water', say('cans.water'), { low: 0.05, high: 4, unit: 'in' });
  const timer = el('button', { type: 'button', class: 'btn', onclick: () => press() });
  const told = el('div', { class: 'aid-told', 'aria-live': 'polite' });
  const press = () => {
    if (!state.started) return sheet.set('started', Date.now());
    minutes.input.value = figure((Date.now() - state.started) / 60_000, 1);
    state.minutes = minutes.input.value;
    return sheet.set('started', 0);
  };
  const clock = () => {
    timer.textContent = state.started ? say('cans.stop', { n: Math.floor((Date.now() - state.started) / 60_000) }) : say('cans.start');
  };
  sheet.changed = () => {
    clock();
    across.node.hidden = state.unit !== 'mL';
    show(told, results(sheet, { catches: cans.numbers(), wide: Math.round(wide.get() ?? 4), minutes: minutes.get(), across: across.get(), water: water.get() }, give));
  };
  host.append(el('p', {}, say('cans.layout')), timer, minutes.node, pickField(sheet, 'unit', say('check.unit'), [['in', say('cans.in')], ['mm', say('cans.mm')], ['mL', say('cans.ml')]]),
    across.node, wide.node, cans.node, water.node, pickField(sheet, 'soil', say('cans.soil'), Object.keys(GROUND).map((s) => [s, say(`soil.${s}`)])),
    pickField(sheet, 'slope', say('cans.slope'), SLOPES.map((s, i) => [String(i), s])), told);
  const ticking = setInterval(clock, 15_000);
  sheet.page.end.signal.addEventListener('abort', () => clearInterval(ticking));
}

function rateOf(state, mean, minutes, across) {
  if (!(minutes > 0)) return null;
  if (state.unit === 'mL') return across > 0 ? rateOfVolume(mean, mouth(across), minutes) : null;
  return rateOfDepth(mean * MM[state.unit], minutes);
}

function results(sheet, { catches, wide, minutes, across, water }, give) {
  const { state, page: { say } } = sheet;
  const a = audit(catches);
  if (!a) return catches.length > 0 ? el('p', {}, say('cans.dry')) : null;
  const rate = rateOf(state, a.mean, minutes, across);
  const share = figure(a.quarter, 2);
  return [sketch(catches, wide, a.lowCount),
    el('p', {}, el('b', {}, say('cans.uniformity', { du: share })), ' ', counted(say, 'cans.lowest', a.lowCount, { all: catches.length })),
    catches.length < 16 ? el('p', { class: 'soft' }, say('cans.few')) : null, a.quarter < 0.4 ? el('p', { class: 'note' }, say('cans.repair')) : null,
    rate ? el('p', {}, say('cans.rate', { rate: figure(rate, 2), metric: figure(rate * 25.4, 0) })) : el('p', { class: 'soft' }, say('cans.no_rate')),
    rate && water && a.multiplier ? timeOf(say, state, rate, water, a.multiplier) : null,
    el('button', { type: 'button', class: 'btn go', 'data-take': true, onclick: () => give(share) }, say('aid.take', { what: share }))];
}

function timeOf(say, state, rate, water, multiplier) {
  const total = runTime(water, rate, multiplier);
  const c = cycles(rate, state.soil, Number(state.slope), total);
  const w = wholeMinutes(c, total);
  const all = say('cans.run', { n: w.total });
  return el('p', { 'data-run': true }, w.count > 1 ? `${all} ${say('cans.cycles', { n: w.count, each: w.each, soak: Math.ceil(c.soak) })}` : all);
}

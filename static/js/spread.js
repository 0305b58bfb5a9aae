// Mean and spread of repeated measurements, in words and as dots on a line.

import { svg, el } from './dom.js';

const WIDTH = 320;

/** @param {number} n @param {number} decimals */
export function plain(n, decimals) {
  return String(Number(n.toFixed(decimals)));
}

/** @param {number[]} numbers */
export function figures(numbers) {
  const mean = numbers.reduce((sum, n) => sum + n, 0) / numbers.length;
  const low = Math.min(...numbers);
  const high = Math.max(...numbers);
  return { mean, low, high, range: high - low };
}

/** @param {any} check @param {number[]} numbers @param {import('./words.js').Say} say @param {string} lang */
export function spread(check, numbers, say, lang) {
  if (numbers.length === 0) return [];
  const { mean, low, high, range } = figures(numbers);
  const places = Math.max(1, check.decimals ?? 1);
  const label = check.units?.[0]?.label;
  const unit = label ? (lang === 'es' && label.es) || label.en : '';
  const params = { n: numbers.length, mean: plain(mean, places), low: plain(low, places), high: plain(high, places), range: plain(range, places), unit };
  const text = say(numbers.length === 1 ? 'spread.one' : 'spread.many', params);
  const top = Math.max(high, check.usual?.high ?? high, 1e-9);
  const x = (n) => 8 + (WIDTH - 16) * Math.min(1, Math.max(0, n / top));
  const usual = check.usual ? svg('rect', { class: 'usual', x: x(check.usual.low), y: 4, width: Math.max(1, x(check.usual.high) - x(check.usual.low)), height: 16, rx: 3 }) : null;
  const dots = numbers.map((n) => svg('circle', { class: 'dot', cx: x(n), cy: 12, r: 5 }));
  const line = svg('line', { class: 'axis', x1: 8, x2: WIDTH - 8, y1: 20, y2: 20 });
  const mark = svg('line', { class: 'mean', x1: x(mean), x2: x(mean), y1: 2, y2: 22 });
  return [svg('svg', { class: 'strip', viewBox: `0 0 ${WIDTH} 24`, 'aria-hidden': 'true', focusable: 'false' }, usual, line, mark, dots), el('p', { class: 'num' }, text)];
}

/** The running total of a mix, in words and as one bar. @param {any} check @param {any} value @param {import('./words.js').Say} say @param {string} lang */
export function shares(check, value, say, lang) {
  const numbers = value?.numbers ?? [];
  if (numbers.length === 0) return [];
  const total = numbers.reduce((/** @type {number} */ a, /** @type {number} */ b) => a + b, 0);
  let from = 0;
  const bars = numbers.map((/** @type {number} */ n, /** @type {number} */ i) => svg('rect', { class: `share s${i % 2}`, x: (from += n) - n, y: 0, width: n, height: 12 }));
  const unit = (lang === 'es' && check.units[0].label.es) || check.units[0].label.en;
  return [svg('svg', { class: 'shares', viewBox: '0 0 100 12', preserveAspectRatio: 'none', 'aria-hidden': 'true', focusable: 'false' }, svg('rect', { class: 'ground', width: 100, height: 12 }), bars),
    el('p', { class: 'num', 'data-total': total }, say('mix.total', { total: plain(total, 1), unit, left: plain(Math.max(0, check.hard.high - total), 1) }))];
}

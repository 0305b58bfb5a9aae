// Walking the edge of a zone: the phone's position is followed, corners are set by a press or by themselves every few steps.

import { apart, walked } from './walk.js';
import { figure } from './aidparts.js';
import { el, show, svg } from './dom.js';

const STEP = 3; // m between corners that set themselves
const ROUGH = 15; // m; a fix worse than this sets no corner

/** The part of the form for areas that walks. @param {import('./taping.js').Taping} taping */
export function walkEdge(taping) {
  const { say } = taping;
  if (!navigator.geolocation) return [];
  /** @type {import('./walk.js').Fix[]} */
  let fixes = [];
  let now = /** @type {import('./walk.js').Fix|null} */ (null), watch = 0;
  const told = el('div', { class: 'aid-told', 'aria-live': 'polite' });
  const start = el('button', { type: 'button', class: 'btn', 'data-walk': true, onclick: () => (watch ? stop() : begin()) }, say('walk.start'));
  const corner = el('button', { type: 'button', class: 'btn', 'data-corner': true, hidden: true, onclick: () => { if (now) fixes.push(now); draw(); } }, say('walk.corner'));
  const draw = (text = '') => show(told, text ? el('p', { class: 'problem' }, text) : null, now ? el('p', {}, say('walk.fix', { n: fixes.length, m: figure(now.accuracy * 3.28084, 0) })) : null,
    fixes.length > 1 ? outline(fixes) : null);
  const begin = () => {
    fixes = [];
    now = null;
    start.textContent = say('walk.stop');
    corner.hidden = false;
    show(told, el('p', {}, say('walk.wait')));
    watch = navigator.geolocation.watchPosition(({ coords }) => {
      now = { lat: coords.latitude, lon: coords.longitude, accuracy: coords.accuracy };
      if (now.accuracy <= ROUGH && (fixes.length === 0 || apart(fixes[fixes.length - 1], now) >= STEP)) fixes.push(now);
      draw(now.accuracy > ROUGH ? say('walk.rough', { m: figure(now.accuracy * 3.28084, 0) }) : '');
    }, () => { end(); show(told, el('p', { class: 'problem' }, say('walk.no_place'))); }, { enableHighAccuracy: true, maximumAge: 0, timeout: 30_000 });
  };
  const end = () => {
    navigator.geolocation.clearWatch(watch);
    watch = 0;
    start.textContent = say('walk.start');
    corner.hidden = true;
  };
  const stop = () => {
    end();
    const got = walked(fixes);
    if (!got) return draw(say('walk.open'));
    if (!taping.piece({ shape: 'walk', off: taping.off, area: got.area, sd: got.sd })) return draw(say('tape.too_much'));
    return show(told, el('p', { 'data-walked': figure(got.area, 0) }, say('walk.area', { n: figure(got.area, 0), sd: figure(2 * got.sd, 0), corners: fixes.length })));
  };
  return [el('p', { class: 'soft' }, say('walk.how')), el('div', { class: 'btns' }, start, corner), told];
}

/** What has been walked, north up. @param {import('./walk.js').Fix[]} fixes */
function outline(fixes) {
  const wide = Math.cos(fixes[0].lat * Math.PI / 180);
  const p = fixes.map((f) => [f.lon * wide, -f.lat]);
  const [left, top] = [0, 1].map((i) => Math.min(...p.map((q) => q[i])));
  const size = Math.max(...[0, 1].map((i) => Math.max(...p.map((q) => q[i])) - [left, top][i]), 1e-7);
  const at = (/** @type {number[]} */ q) => `${(10 + (q[0] - left) / size * 80).toFixed(1)} ${(8 + (q[1] - top) / size * 58).toFixed(1)}`;
  return svg('svg', { class: 'tape-sketch', viewBox: '0 0 100 74', 'aria-hidden': 'true', focusable: 'false' }, svg('path', { d: `M${p.map(at).join('L')}z` }));
}

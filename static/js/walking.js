// Walking the edge of a zone: the phone's position is followed, corners are set by a press or by themselves every few steps. The corners stay
// on this phone until they are an area, since a phone in a pocket may lose its page.

import { apart, walked } from './walk.js';
import { figure } from './aidparts.js';
import { el, show, svg } from './dom.js';

const STEP = 3; // m between corners that set themselves
const ROUGH = 15; // m; a fix worse than this sets no corner
const PACE = 3; // m/s; nobody walks an edge faster: a position that does has jumped
const FEET = 3.28084;

/** The part of the form for areas that walks. @param {import('./taping.js').Taping} taping @returns {{nodes: Node[], end: () => void}} */
export function walkEdge(taping) {
  const { say, state } = taping;
  if (!navigator.geolocation) return { nodes: [], end: () => {} };
  let now = /** @type {import('./walk.js').Fix|null} */ (null); // good enough to stand for a corner
  let last = /** @type {import('./walk.js').Fix|null} */ (null), seen = 0; // what it was when it last was, and when that was
  let watch = 0, missed = false;
  let awake = /** @type {Promise<any>|undefined} */ (undefined);
  const told = el('div', { class: 'aid-told', 'aria-live': 'polite' });
  const start = el('button', { type: 'button', class: 'btn', 'data-walk': true, onclick: () => (watch ? stop() : begin()) });
  const corner = el('button', { type: 'button', class: 'btn', 'data-corner': true, onclick: () => press() }, say('walk.corner'));
  const anew = el('button', { type: 'button', class: 'btn', 'data-anew': true, onclick: () => { set([]); draw(); } }, say('walk.anew'));
  const set = (/** @type {import('./walk.js').Fix[]} */ fixes) => { state.fixes = fixes; taping.kept(); };
  const feet = (/** @type {number} */ m) => figure(m * FEET, 0);
  const draw = (text = '') => {
    start.textContent = say(watch ? 'walk.stop' : state.fixes.length > 0 ? 'walk.go_on' : 'walk.start');
    corner.hidden = !watch;
    anew.hidden = Boolean(watch) || state.fixes.length === 0;
    const begun = !watch && state.fixes.length > 0 ? say('walk.begun', { n: state.fixes.length }) : '';
    show(told, text ? el('p', { class: 'problem' }, text) : null, missed ? el('p', { class: 'note' }, say('walk.away')) : null, now ? el('p', {}, say('walk.fix', { n: state.fixes.length, m: feet(now.accuracy) })) : null, begun ? el('p', {}, begun) : null,
      state.fixes.length > 1 ? outline(state.fixes) : null);
  };
  const begin = () => {
    now = last = null;
    missed = false;
    watch = navigator.geolocation.watchPosition(heard, failed, { enableHighAccuracy: true, maximumAge: 0, timeout: 30_000 });
    stayAwake();
    draw(say('walk.wait'));
  };
  const heard = (/** @type {GeolocationPosition} */ { coords }) => {
    const fix = { lat: coords.latitude, lon: coords.longitude, accuracy: coords.accuracy };
    const at = Date.now(), before = state.fixes.at(-1);
    now = null;
    if (fix.accuracy > ROUGH) return draw(say('walk.rough', { m: feet(fix.accuracy) }));
    if (last && apart(last, fix) > (at - seen) / 1000 * PACE + last.accuracy + fix.accuracy) return draw(say('walk.jump', { m: feet(apart(last, fix)) }));
    now = last = fix;
    seen = at;
    if (!before || apart(before, fix) >= STEP) set([...state.fixes, fix]);
    return draw();
  };
  const failed = (/** @type {GeolocationPositionError} */ err) => {
    now = null;
    if (err.code !== err.PERMISSION_DENIED) return draw(say(state.fixes.length > 0 ? 'walk.lost' : 'walk.no_place'));
    end();
    return draw(say('walk.no_place'));
  };
  const press = () => {
    if (!now) return draw(say('walk.not_yet'));
    missed = false;
    set([...state.fixes, now]);
    return draw();
  };
  const end = () => {
    if (watch) navigator.geolocation.clearWatch(watch);
    watch = 0;
    now = null;
    missed = false;
    awake?.then((lock) => lock?.release()).catch(() => {});
    awake = undefined;
  };
  const stop = () => {
    end();
    const { fixes, off } = state;
    const got = walked(fixes);
    if (!got) return draw(say('walk.open'));
    if (!taping.piece({ shape: 'walk', off, area: got.area, sd: got.sd })) return draw(say('tape.too_much'));
    set([]);
    draw();
    return show(told, el('p', { 'data-walked': figure(got.area, 0) }, say('walk.area', { n: figure(got.area, 0), sd: figure(2 * got.sd, 0), corners: fixes.length })));
  };
  // A screen that goes dark takes the position with it. Browsers let the lock go when the page is hidden.
  const stayAwake = () => { awake = navigator.wakeLock?.request('screen').catch(() => null); };
  document.addEventListener('visibilitychange', () => {
    if (!watch) return;
    now = null;
    missed = true;
    if (document.visibilityState === 'visible') stayAwake();
    draw(say('walk.wait'));
  }, { signal: taping.signal });
  draw();
  return { nodes: [el('p', { class: 'soft' }, say('walk.how')), el('div', { class: 'btns' }, start, corner, anew), told], end };
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

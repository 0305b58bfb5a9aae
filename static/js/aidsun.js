// The sun survey: stand in the zone, look round, write down what stands in the way by direction and height, and see the
// hours of direct sun of any day and over the year.

import { figure, numberField, pickField } from './aidparts.js';
import { follow, skyline } from './horizon.js';
import { directSun, elevationOf, lightClass } from './sun.js';
import { textIn } from './words.js';
import { el, mark, show, svg } from './dom.js';

const POINTS = ['n', 'nne', 'ne', 'ene', 'e', 'ese', 'se', 'sse', 's', 'ssw', 'sw', 'wsw', 'w', 'wnw', 'nw', 'nnw'];
const WIDE = 360 / POINTS.length;
const EYE = 5.5; // feet; common practice
const LEAF = { leafFrom: 415, leafTo: 1105 }; // when crowns are in leaf in temperate lawns; common practice

export const begin = { things: [], sights: [], from: 'sse', to: 'ssw', height: '', tall: '', away: '', leaf: 'no', latitude: '', longitude: 0, date: '' };

/** From the left edge of one direction to the right edge of another; what was sighted has its own degrees. @param {any} thing */
export function obstruction({ from, to, elevation, leaf }) {
  if (typeof from === 'number') return { from, to, elevation, ...(leaf ? LEAF : {}) };
  const edge = (/** @type {string} */ point, /** @type {number} */ side) => (POINTS.indexOf(point) * WIDE + side * WIDE / 2 + 360) % 360;
  return { from: edge(from, -1), to: edge(to, +1), elevation, ...(leaf ? LEAF : {}) };
}

/** A direction by name, or as it was sighted. */
const direction = (say, at) => (typeof at === 'number' ? `${figure(at, 0)}°` : say(`point.${at}`));

/** Direct sun on the 15th of each month of a year. @returns {number[]} */
export function overYear(year, place, things) {
  return Array.from({ length: 12 }, (_, m) => directSun(`${year}-${String(m + 1).padStart(2, '0')}-15`, place, things).direct);
}

/** @param {number[]} hours @param {string[]} months */
export function chart(hours, months) {
  const y = (/** @type {number} */ h) => 96 - h * 6;
  return svg('svg', { class: 'sun-year', viewBox: '0 0 324 112', 'aria-hidden': 'true', focusable: 'false' },
    [4, 6, 12].map((h) => [svg('line', { class: 'grid', x1: 20, x2: 322, y1: y(h), y2: y(h) }), svg('text', { x: 16, y: y(h) + 4, 'text-anchor': 'end' }, String(h))]).flat(),
    hours.map((h, m) => [svg('rect', { class: lightClass(h), x: 24 + m * 25, y: y(h), width: 18, height: Math.max(1, h * 6) }), svg('text', { x: 33 + m * 25, y: 109, 'text-anchor': 'middle' }, months[m])]).flat(),
    svg('line', { class: 'axis', x1: 20, x2: 322, y1: 96, y2: 96 }));
}

/** The part that takes sights with the phone. @param {import('./aidparts.js').Sheet} sheet */
function sighting(sheet) {
  const { state, page: { say } } = sheet;
  let now = /** @type {{azimuth: number, height: number}|null} */ (null), stop = /** @type {(() => void)|null} */ (null), asked = 0;
  const told = el('div', { class: 'aid-told', 'aria-live': 'off' });
  const take = el('button', { type: 'button', class: 'btn go', 'data-sight': true, onclick: () => { if (now) sheet.set('sights', [...state.sights, now]); draw(); } }, say('sight.take'));
  const start = el('button', { type: 'button', class: 'btn', 'data-sights': true, onclick: () => (stop ? end() : begin()) });
  const draw = (text = '') => {
    start.textContent = say(stop ? 'sight.done' : 'sight.start');
    take.hidden = !now;
    show(told, text ? el('p', { class: 'problem' }, text) : null,
      now ? el('p', {}, el('b', {}, say('sight.now', { azimuth: figure(now.azimuth, 0), height: figure(now.height, 0) })), ' ', say('sight.taken', { n: state.sights.length })) : null,
      !now && state.sights.length > 0 ? el('p', {}, say('sight.begun', { n: state.sights.length })) : null);
  };
  const begin = async () => {
    const turn = ++asked;
    stop = () => {};
    draw();
    show(told, el('p', {}, say('sight.wait')));
    const done = await follow((s) => {
      if (turn !== asked) return;
      now = s;
      draw(s ? '' : say('sight.none'));
    });
    if (turn !== asked) return done?.(); // given up while the phone was asking
    stop = done;
    return sheet.page.end.signal.addEventListener('abort', () => { if (turn === asked) stop?.(); });
  };
  const end = () => {
    stop?.();
    stop = now = null;
    asked++;
    const things = skyline(state.sights), few = state.sights.length > 0 && things.length === 0;
    if (state.sights.length > 1) state.sights = []; // a single one waits for the next
    sheet.set('things', [...state.things, ...things]);
    draw(few ? say('sight.few') : '');
  };
  draw();
  return el('div', { class: 'aid-told' }, el('p', { class: 'soft' }, say('sight.how')), el('div', { class: 'btns' }, start, take), told);
}

/**
 * Grasses by the light they get, from the limits the knowledge has for each: the lowest band of a limit is where none lives.
 * @param {any} know  the knowledge on this phone @param {any} check @param {number} hours @param {string} lang
 */
export function grasses(know, check, hours, lang) {
  const finding = know?.findings?.find((/** @type {any} */ f) => f.id === check.yields?.[0]?.finding);
  const at = (/** @type {any[]} */ bands) => bands.findIndex((b) => hours >= b.low && hours < b.high);
  const out = { well: /** @type {string[]} */ ([]), thin: /** @type {string[]} */ ([]) };
  const others = finding?.bands_by ?? [];
  const kinds = know?.findings?.find((/** @type {any} */ f) => f.id === others[0]?.other);
  for (const state of kinds?.states ?? []) {
    const bands = others.find((/** @type {any} */ by) => by.other_states.includes(state.id))?.bands;
    const place = bands ? at(bands) : -1;
    if (place > 0) out[place === bands.length - 1 ? 'well' : 'thin'].push(textIn(state.label, lang));
  }
  return out;
}

/** @param {import('./aidparts.js').Sheet} sheet @param {HTMLElement} host @param {{give: (text: string) => void, day: string, check: any}} about */
export function draw(sheet, host, { give, day, check }) {
  const { state, page: { say } } = sheet;
  if (!state.date) state.date = day;
  const points = /** @type {[string, string][]} */ (POINTS.map((p) => [p, say(`point.${p}`)]));
  const height = numberField(sheet, 'height', say('sun.height'), { low: 0, high: 90, unit: '°' });
  const tall = numberField(sheet, 'tall', say('sun.tall'), { low: 0, high: 400, unit: 'ft' });
  const away = numberField(sheet, 'away', say('sun.away'), { low: 1, high: 2000, unit: 'ft' });
  const latitude = numberField(sheet, 'latitude', say('sun.latitude'), { low: -66, high: 66, unit: '°' });
  const date = el('input', { type: 'date', 'data-field': 'date', value: state.date, onchange: (/** @type {any} */ e) => sheet.set('date', e.target.value) });
  const noDay = el('p', { class: 'problem', role: 'alert', hidden: true });
  const list = el('ul', { class: 'rows' }), told = el('div', { class: 'aid-told', 'aria-live': 'polite' }), missing = el('p', { class: 'problem', role: 'alert', hidden: true }), place = el('p', { class: 'problem', role: 'alert', hidden: true });
  const add = () => {
    show(missing);
    const t = tall.get(), a = away.get();
    const elevation = height.get() ?? (t !== null && a !== null ? Math.max(0, elevationOf(t, EYE, a)) : null);
    const wrong = [height, tall, away].some((f) => f.input.hasAttribute('aria-invalid')); // it has its own sentence
    show(missing, elevation === null && !wrong ? say('sun.need_height') : null);
    if (!wrong) mark([height.input, tall.input, away.input], missing, elevation === null);
    if (elevation === null || wrong) return;
    for (const f of [height, tall, away]) f.input.value = '';
    Object.assign(state, { height: '', tall: '', away: '' });
    sheet.set('things', [...state.things, { from: state.from, to: state.to, elevation, leaf: state.leaf === 'yes' }]);
  };
  const here = () => navigator.geolocation?.getCurrentPosition(({ coords }) => {
    state.longitude = coords.longitude;
    latitude.input.value = figure(coords.latitude, 2);
    show(place);
    mark([latitude.input], place, false);
    sheet.set('latitude', latitude.input.value);
  }, () => { show(place, say('sun.no_place')); mark([latitude.input], place, false); }, { maximumAge: 3_600_000, timeout: 15_000 });
  sheet.changed = () => {
    show(list, state.things.map((/** @type {any} */ t, /** @type {number} */ i) => el('li', { class: 'item' },
      el('span', { class: 'row-text' }, say(t.leaf ? 'sun.thing_leaf' : 'sun.thing', { from: direction(say, t.from), to: direction(say, t.to), n: figure(t.elevation, 0) })),
      el('button', { type: 'button', class: 'btn', onclick: () => sheet.set('things', state.things.filter((/** @type {any} */ _, /** @type {number} */ k) => k !== i)) }, say('aid.remove')))));
    for (const f of [height, tall, away]) f.get();
    show(missing);
    const day = /^\d{4}-/.test(state.date);
    show(noDay, day ? null : say('sun.need_day'));
    mark([date], noDay, !day);
    show(told, day ? results(sheet, latitude.get(), give, check) : null);
  };
  host.append(el('p', {}, say('sun.how')), sighting(sheet), latitude.node, navigator.geolocation ? el('button', { type: 'button', class: 'btn', 'data-here': true, onclick: here }, say('sun.here')) : '', place,
    pickField(sheet, 'from', say('sun.from'), points), pickField(sheet, 'to', say('sun.to'), points), height.node, el('p', { class: 'soft' }, say('sun.or')), tall.node, away.node,
    pickField(sheet, 'leaf', say('sun.leaf'), [['no', say('sun.leaf_no')], ['yes', say('sun.leaf_yes')]]), missing,
    el('button', { type: 'button', class: 'btn add-one', 'data-add-thing': true, onclick: add }, say('sun.add')), list, el('label', { class: 'text' }, el('span', {}, say('sun.date')), date), noDay, told);
}

function results(sheet, latitude, give, check) {
  const { state, page: { say, lang } } = sheet;
  if (latitude === null) return el('p', { class: 'soft' }, say('sun.need_latitude'));
  const things = state.things.map(obstruction), place = { latitude, longitude: state.longitude };
  const day = directSun(state.date, place, things), year = Number(state.date.slice(0, 4));
  const months = Array.from({ length: 12 }, (_, m) => new Date(2026, m, 15).toLocaleDateString(lang === 'es' ? 'es-US' : [], { month: 'narrow' }));
  const hours = overYear(year, place, things), text = figure(day.direct, 1);
  const live = grasses(sheet.know, check, day.direct, lang);
  return [el('p', {}, el('b', {}, say('sun.hours', { n: text, all: figure(day.daylight, 1) })), ' ', say(`sun.${lightClass(day.direct)}`)),
    live.well.length + live.thin.length > 0 ? el('p', { 'data-live': true }, live.well.length > 0 ? say('sun.live', { which: live.well.join(', ') }) : '', ' ', live.thin.length > 0 ? say('sun.live_thin', { which: live.thin.join(', ') }) : '') : null,
    chart(hours, months), el('p', { class: 'soft' }, say('sun.year', { low: figure(Math.min(...hours), 1), high: figure(Math.max(...hours), 1) })),
    el('button', { type: 'button', class: 'btn go', 'data-take': true, onclick: () => give(text) }, say('aid.take', { what: text }))];
}

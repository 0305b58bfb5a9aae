// The inputs of one check and the typed text they stand for. A control never judges: reading the text is read.js's.

import { el, part, svg } from './dom.js';
import { wellFormed } from './ids.js';
import { read } from './read.js';
import { blank } from './view.js';

/** Splits a unit from the end of a typed number. @param {any} check @param {string} text @returns {[string, string]} */
export function splitUnit(check, text) {
  const ids = (check.units ?? []).map((u) => u.id).sort((a, b) => b.length - a.length);
  for (const id of ids) {
    const rest = text.slice(0, -id.length);
    if (text.toLowerCase().endsWith(id.toLowerCase()) && /[\d\s½¼¾⅓⅔⅛⅜⅝⅞.,;]$/.test(rest)) return [rest.trim(), id];
  }
  return [text.trim(), ''];
}

/** The typed text of several numbers with one unit. @param {string[]} items @param {string} unit */
export function joined(items, unit) {
  if (items.length === 0) return '';
  return items.join('; ') + (unit ? ` ${unit}` : '');
}

class Choice {
  /** @param {HTMLElement} box @param {any} check */
  constructor(box, check) {
    Object.assign(this, { box, check, inputs: [...box.querySelectorAll('input[type=radio]')] });
  }

  get typed() {
    return this.inputs.find((i) => i.checked)?.value ?? '';
  }

  set typed(text) {
    const value = blank(text) ? '' : text.trim();
    for (const i of this.inputs) i.checked = i.value === value;
  }

  get half() {
    return '';
  }
}

class Signs {
  constructor(box, check) {
    const all = [...box.querySelectorAll('input[type=checkbox]')];
    Object.assign(this, { box, check, signs: all.filter((i) => i.name), only: all.find((i) => i.dataset.only !== undefined) });
  }

  get typed() {
    const ids = this.signs.filter((i) => i.checked).map((i) => i.value);
    if (!this.only.checked) return ids.join(' ');
    return ids.length === 0 && this.only.dataset.none ? this.only.dataset.none : [...ids, 'only'].join(' ');
  }

  set typed(text) {
    const words = blank(text) ? [] : text.trim().split(/\s+/);
    for (const i of this.signs) i.checked = words.includes(i.value);
    this.only.checked = words.includes('only') || (words.length === 1 && words[0] === this.only.dataset.none && words[0] !== '');
  }

  get half() {
    return '';
  }
}

/** Units of the metric side, by their ids. */
const METRIC = /^(mm|cm|m|km|g|kg|mL|L|C|km\/h|m\/s|mm\/h|m2|ha|sqm|cm\/h)$/;

/** Shared by the two kinds of number: the input and the unit beside it. */
class Numbered {
  constructor(box, check, metric = false) {
    Object.assign(this, { box, check, input: box.querySelector('input.typed'), units: [...box.querySelectorAll('[data-unit]')] });
    this.usual = (check.units ?? []).find((u) => METRIC.test(u.id) === metric)?.id ?? '';
    this.unit = this.usual;
  }

  /** The unit to write down: none for the check's own. */
  get unit() {
    const chosen = this.units.find((u) => u.checked)?.value ?? '';
    return chosen === this.check.units?.[0]?.id ? '' : chosen;
  }

  set unit(id) {
    const wanted = id || this.check.units?.[0]?.id;
    for (const u of this.units) u.checked = u.value === wanted;
  }

  get half() {
    return this.input.value;
  }

  set half(text) {
    this.input.value = text;
  }
}

class Measure extends Numbered {
  get typed() {
    const text = this.input.value.trim();
    if (text === '') return '';
    const [, own] = splitUnit(this.check, text);
    return own || !this.unit ? text : `${text} ${this.unit}`;
  }

  set typed(text) {
    const [number, unit] = splitUnit(this.check, blank(text) ? '' : text);
    this.input.value = number;
    this.unit = number === '' ? this.usual : unit;
  }
}

class Repeated extends Numbered {
  constructor(box, check, metric = false) {
    super(box, check, metric);
    Object.assign(this, { row: part('row', box), items: /** @type {string[]} */ ([]) });
  }

  get typed() {
    return joined(this.items, this.unit);
  }

  set typed(text) {
    const [numbers, unit] = splitUnit(this.check, blank(text) ? '' : text);
    this.items = numbers === '' ? [] : numbers.split(';').map((s) => s.trim()).filter(Boolean);
    this.unit = numbers === '' ? this.usual : unit;
    this.draw();
  }

  /** What the text would be with the number in the input. */
  with(text) {
    const [number, unit] = splitUnit(this.check, text);
    return joined([...this.items, unit ? number : text], unit || this.unit);
  }

  /** The unit of the row, when the number in the input comes with another one: the two can't stand together. @returns {string} its id, '' else */
  otherUnit() {
    const [, unit] = splitUnit(this.check, this.input.value);
    const own = this.unit || this.check.units?.[0]?.id;
    return unit && this.items.length > 0 && unit !== own ? own : '';
  }

  /** Takes the number in the input into the row; a unit typed with it is the unit of all. */
  add() {
    const [number, unit] = splitUnit(this.check, this.input.value);
    this.items.push(...number.split(';').map((s) => s.trim()).filter(Boolean));
    if (unit) this.unit = unit;
    this.input.value = '';
    this.draw();
  }

  /** A tap on a number brings it back into the input, to be changed or left out. */
  draw() {
    const name = this.input.getAttribute('aria-label') ?? '';
    this.row.replaceChildren(...this.items.map((item, i) => el('li', {}, el('button', {
      type: 'button', class: 'btn', 'data-at': i, 'aria-label': `${name} ${i + 1}: ${item}`,
    }, item))));
  }

  /** @param {number} at */
  takeOut(at) {
    const [item] = this.items.splice(at, 1);
    this.input.value = item;
    this.draw();
    this.input.focus();
  }
}

class Note {
  constructor(box, check) {
    Object.assign(this, { box, check, input: box.querySelector('textarea') });
  }

  /** As it goes out: a keyboard that left half a character can't make it another text there. */
  get typed() {
    return wellFormed(this.input.value);
  }

  set typed(text) {
    this.input.value = blank(text) ? '' : text;
  }

  get half() {
    return this.input.value;
  }

  set half(text) {
    this.input.value = text;
  }
}

/** Shares of several parts: one small field each. */
class Mix {
  constructor(box, check) {
    const all = /** @type {HTMLInputElement[]} */ ([...box.querySelectorAll('[data-share]')]);
    Object.assign(this, { box, check, shares: all, input: all[0], only: box.querySelector('[data-only]') });
  }

  get typed() {
    const parts = this.shares.filter((i) => i.value.trim() !== '').map((i) => `${i.dataset.share} ${i.value.trim()}`);
    if (parts.length > 0) this.only.checked = false;
    return parts.length > 0 ? parts.join('; ') : this.only.checked ? this.check.none : '';
  }

  set typed(text) {
    const parts = blank(text) ? [] : text.split(';').map((p) => p.trim());
    this.only.checked = parts.length === 1 && parts[0] === this.check.none;
    for (const i of this.shares) i.value = parts.find((p) => p.startsWith(`${i.dataset.share} `))?.slice(i.dataset.share.length + 1) ?? '';
  }

  /** What stands in the shares, one a line, since nobody can type a line's end there. */
  get half() {
    return this.shares.filter((i) => i.value.trim() !== '').map((i) => `${i.dataset.share} ${i.value.trim()}\n`).join('');
  }

  set half(text) {
    if (!text.includes('\n')) this.typed = text;
    else for (const line of text.split('\n')) {
      const [id] = line.split(' ', 1);
      for (const i of this.shares) if (i.dataset.share === id) i.value = line.slice(id.length + 1);
    }
  }

  /** A press on more or less beside a share; down to nothing it is not there. What can't be read stays. @param {HTMLElement} button */
  step(button) {
    const input = button.parentElement.querySelector('input');
    const { value, problems } = read({ id: 'share', kind: 'measure', units: [{ id: '%', mul: 1, div: 1 }] }, input.value);
    if (problems.length > 0) return;
    const n = Math.max(0, (value.numbers?.[0] ?? 0) + Number(button.dataset.step));
    input.value = n > 0 ? String(n) : '';
  }

  /** Looking for all and finding none empties the shares. */
  clear() {
    for (const i of this.shares) i.value = '';
  }
}

const AT = 5; // percent that an arrow key moves by

/** Spots on a sketch of the zone. */
class Place {
  constructor(box, check) {
    Object.assign(this, { box, check, items: /** @type {string[]} */ ([]), row: part('row', box), sketch: part('sketch', box), pins: part('pins', box), at: [50, 50] });
    this.name = this.sketch.getAttribute('aria-label');
    this.sketch.addEventListener('keydown', (e) => this.move(e));
    this.draw();
  }

  get typed() {
    return this.items.join('; ');
  }

  set typed(text) {
    this.items = blank(text) ? [] : text.split(';').map((p) => p.trim()).filter(Boolean);
    this.draw();
  }

  get half() {
    return this.typed;
  }

  set half(text) {
    this.typed = text;
  }

  /** @param {KeyboardEvent} e */
  move(e) {
    const by = { ArrowLeft: [-AT, 0], ArrowRight: [AT, 0], ArrowUp: [0, -AT], ArrowDown: [0, AT] }[e.key];
    if (!by) return;
    e.preventDefault();
    this.at = this.at.map((v, i) => Math.min(100, Math.max(0, v + by[i])));
    this.draw();
  }

  /** A pin where the thumb pressed, or where the arrow keys led. @param {MouseEvent} e */
  put(e) {
    const r = this.pins.getBoundingClientRect();
    const share = (v, from, size) => Math.min(100, Math.max(0, Math.round((v - from) / size * 100)));
    const [x, y] = e.detail === 0 ? this.at : [share(e.clientX, r.left, r.width), share(e.clientY, r.top, r.height)];
    this.items.push(`${x} ${y}`);
    this.draw();
  }

  /** @param {number} at */
  takeOut(at) {
    this.items.splice(at, 1);
    this.draw();
  }

  draw() {
    const words = this.row.dataset.words.split('|');
    const spots = this.items.map((s) => s.split(' ').map(Number));
    const ninth = ([x, y]) => words[Math.min(2, Math.floor(y * 3 / 100)) * 3 + Math.min(2, Math.floor(x * 3 / 100))];
    this.row.replaceChildren(...spots.map((s, i) => el('li', {}, el('button', { type: 'button', class: 'btn', 'data-at': i }, `${i + 1}: ${ninth(s)}`))));
    this.sketch.setAttribute('aria-label', [this.name, ...spots.map((_, i) => i + 1)].join(' ')); // what is drawn on it is heard too
    this.pins.replaceChildren(svg('svg', { class: 'pins', viewBox: '0 0 100 70', preserveAspectRatio: 'none', focusable: 'false' },
      svg('path', { class: 'ninths', d: 'M33.3 0v70M66.7 0v70M0 23.3h100M0 46.7h100' })),
    svg('svg', { class: 'pins', focusable: 'false' }, spots.map(([x, y], i) => [svg('circle', { cx: `${x}%`, cy: `${y}%`, r: 11 }), svg('text', { x: `${x}%`, y: `${y}%`, dy: 5, 'text-anchor': 'middle' }, String(i + 1))]).flat(),
      svg('circle', { class: 'cross', cx: `${this.at[0]}%`, cy: `${this.at[1]}%`, r: 14 })));
  }
}

const kinds = { choice: Choice, signs: Signs, measure: Measure, repeated: Repeated, count: Repeated, mix: Mix, place: Place, note: Note };

/** The control of one check; null for photos, which have their own. @param {HTMLElement} box @param {any} check @param {boolean} [metric] which units stand first */
export function control(box, check, metric = false) {
  const Kind = kinds[check.kind];
  return Kind ? new Kind(box, check, metric) : null;
}

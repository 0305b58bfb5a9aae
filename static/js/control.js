// The inputs of one check and the typed text they stand for. A control never judges: reading the text is read.js's.

import { el, part } from './dom.js';
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
    return joined([...this.items, text], this.unit);
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

  get typed() {
    return this.input.value;
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

const kinds = { choice: Choice, signs: Signs, measure: Measure, repeated: Repeated, count: Repeated, note: Note };

/** The control of one check; null for photos, which have their own. @param {HTMLElement} box @param {any} check @param {boolean} [metric] which units stand first */
export function control(box, check, metric = false) {
  const Kind = kinds[check.kind];
  return Kind ? new Kind(box, check, metric) : null;
}

// What the aids of the phone are made of: small fields whose text is kept as typed, and numbers read as everywhere else.

import { el, mark, show } from './dom.js';
import { read } from './read.js';

const HALF = 300;
const MOST = 60; // numbers in a row, as in a check

/** One aid's state: what was typed, kept on this phone. */
export class Sheet {
  /** @param {any} page @param {string} key @param {Record<string, any>} begin */
  constructor(page, key, begin) {
    Object.assign(this, { page, key, state: begin, changed: () => {} });
    document.addEventListener('visibilitychange', () => { if (document.visibilityState === 'hidden' && this.timer) this.keep(); }, { signal: page.end.signal });
  }

  async restore() {
    const was = await this.page.db.read(['meta'], (tx) => tx.get('meta', this.key));
    if (was) Object.assign(this.state, was);
  }

  /** Takes a change in, shows what follows from it, and keeps it. */
  set(name, value) {
    this.state[name] = value;
    this.changed();
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.keep(), HALF);
  }

  keep() {
    clearTimeout(this.timer);
    this.timer = 0;
    return this.page.db.keep(['meta'], (tx) => tx.put('meta', { ...this.state }, this.key)).catch((/** @type {any} */ err) =>
      show(this.trouble, this.page.say('kept.not', { why: this.page.say('kept.phone', { why: err?.message ?? '' }) })));
  }
}

/** A typed number within bounds; null when nothing is typed, a problem when it can't be. @param {string} text @param {number} low @param {number} high */
export function numberOf(text, low, high, unit = '') {
  const bounds = { low, high };
  const { value, problems } = read({ id: 'aid', kind: 'measure', units: [{ id: 'u', mul: 1, div: 1 }], hard: bounds, usual: bounds }, text ?? '');
  const problem = problems.find((p) => !p.ask);
  if (problem) return { n: null, problem: { code: problem.code, params: { ...problem.params, unit } } };
  return { n: value.blank ? null : value.numbers?.[0] ?? null, problem: null };
}

/** A number field; `get` reads it. @param {Sheet} sheet @param {string} name @param {string} label @param {{low: number, high: number, unit?: string}} bounds */
export function numberField(sheet, name, label, { low, high, unit = '' }) {
  const problem = el('p', { class: 'problem', role: 'alert', hidden: true });
  const get = () => {
    const got = numberOf(sheet.state[name], low, high, unit);
    says(sheet.page.say, [input], problem, got.problem);
    return got.n;
  };
  const input = el('input', { inputmode: 'decimal', autocomplete: 'off', 'data-field': name, value: sheet.state[name] ?? '', oninput: (/** @type {any} */ e) => sheet.set(name, e.target.value) });
  return { get, input, node: el('div', { class: 'text' }, el('label', { class: 'text' }, el('span', {}, label), input), problem) };
}

/** Says under inputs what is wrong with them, or nothing any more. @param {import('./words.js').Say} say @param {Element[]} inputs @param {Element} host @param {{code: string, params?: any}|null} problem */
export function says(say, inputs, host, problem) {
  show(host, problem ? el('span', {}, say(`problem.${problem.code}`, problem.params ?? {})) : null);
  mark(inputs, host, problem !== null);
}

/** A choice out of a list. @param {Sheet} sheet @param {string} name @param {string} label @param {[string, string][]} options */
export function pickField(sheet, name, label, options) {
  const select = el('select', { class: 'input', onchange: (/** @type {any} */ e) => sheet.set(name, e.target.value) },
    options.map(([value, text]) => el('option', { value, selected: sheet.state[name] === value }, text)));
  return el('label', { class: 'text' }, el('span', {}, label), select);
}

/** Numbers in a row: type, add, type, add; a press on one takes it out into the field again. @param {Sheet} sheet */
export function rowField(sheet, name, label, { low, high }) {
  const { say } = sheet.page;
  const row = el('ol', { class: 'row', 'aria-label': say('check.row') });
  const host = el('p', { class: 'problem', role: 'alert', hidden: true });
  const input = el('input', { class: 'typed', inputmode: 'decimal', autocomplete: 'off', 'aria-label': label, placeholder: say('check.next_one'), 'data-field': name, value: sheet.state.half ?? '', enterkeyhint: 'next' });
  const draw = () => row.replaceChildren(...sheet.state[name].map((/** @type {string} */ text, /** @type {number} */ i) => el('li', {}, el('button', { type: 'button', class: 'btn', onclick: () => takeOut(i) }, text))));
  const takeOut = (/** @type {number} */ i) => {
    if (input.value.trim() !== '') return input.focus(); // what can't be read stands there, to be mended first
    input.value = sheet.state[name][i];
    sheet.state.half = input.value;
    sheet.set(name, sheet.state[name].filter((/** @type {string} */ _, /** @type {number} */ k) => k !== i));
    draw();
    return input.focus();
  };
  const judge = () => {
    const got = numberOf(input.value, low, high);
    const problem = got.problem ?? (got.n !== null && sheet.state[name].length >= MOST ? { code: 'too_many', params: { high: MOST } } : null);
    says(say, [input], host, problem);
    return problem === null && got.n !== null;
  };
  const add = (stay = true) => {
    if (judge()) {
      sheet.state.half = '';
      sheet.set(name, [...sheet.state[name], input.value.trim()]);
      input.value = '';
      draw();
    }
    if (stay) input.focus();
  };
  input.addEventListener('input', () => sheet.set('half', input.value));
  input.addEventListener('change', () => add(false));
  input.addEventListener('keydown', (e) => { if (e.key === 'Enter') { e.preventDefault(); add(); } });
  draw();
  judge();
  const numbers = () => sheet.state[name].map((/** @type {string} */ text) => numberOf(text, low, high).n);
  return { numbers, draw, node: el('div', {}, el('p', {}, label), row, el('div', { class: 'number' }, input, el('button', { type: 'button', class: 'btn add-one', onclick: () => add() }, say('check.next'))), host) };
}

/** A figure with so many places. */
export const figure = (/** @type {number} */ n, places = 1) => n.toFixed(places);

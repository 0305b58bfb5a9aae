// An area by tape: shapes that a zone is cut into, beds and drives taken off, and the sum put where the area is typed.

import { figure, numberOf } from './aidparts.js';
import { SHAPES, lawn } from './tape.js';
import { el, mark, show, svg } from './dom.js';
import { walkEdge } from './walking.js';

const LONGEST = 5000; // feet; nobody tapes more

// Our own sketches; the letters stand at the lengths in the order they are asked for.
const DRAWN = {
  rectangle: { path: 'M10 12h76v46H10z', marks: [[48, 70, 'A'], [92, 38, 'B']] },
  triangle: { path: 'M10 58L86 58L34 10z', marks: [[48, 70, 'A'], [66, 30, 'B'], [14, 34, 'C']] },
  trapezoid: { path: 'M10 58h76L70 12H28zM28 12v46', marks: [[48, 70, 'A'], [48, 10, 'B'], [36, 40, 'C']] },
  circle: { path: 'M48 8a27 27 0 1 0 .1 0M21 35h54', marks: [[48, 32, 'A']] },
  offsets: { path: 'M8 60h84V26C78 8 66 34 50 22S22 40 8 28zM29 60V30M50 60V22M71 60V20', marks: [[40, 72, 'A'], [24, 48, 'B'], [45, 48, 'B'], [66, 48, 'B']] },
};

/** Offsets in a row: 0; 12; 15 1/2; 0. @param {string} text */
function offsetsOf(text) {
  if (text.trim() === '') return { n: null, problem: null };
  const read = text.split(';').map((piece) => numberOf(piece, 0, LONGEST, 'ft'));
  const problem = read.find((r) => r.problem)?.problem ?? null;
  const list = read.map((r) => r.n);
  return { n: problem || list.includes(null) ? null : list, problem };
}

/** @param {string} shape */
export function sketchOf(shape) {
  const { path, marks } = DRAWN[shape];
  return svg('svg', { class: 'tape-sketch', viewBox: '0 0 100 74', 'aria-hidden': 'true', focusable: 'false' },
    svg('path', { d: path }), marks.map(([x, y, letter]) => svg('text', { x, y, 'text-anchor': 'middle' }, letter)));
}

/** @typedef {{shape: string, off: boolean, typed: Record<string, string[]>, pieces: any[], fixes: import('./walk.js').Fix[]}} Tape  what was taped and walked so far, and what is half typed */

export class Taping {
  /** @param {{say: import('./words.js').Say, end: AbortController}} page @param {HTMLElement} host @param {Tape} state @param {{take: (sqft: string) => void, kept: () => void}} then */
  constructor({ say, end: { signal } }, host, state, { take, kept }) {
    Object.assign(this, { say, signal, take, kept, state, list: el('ul', { class: 'rows' }), fields: el('div', { class: 'aid-body' }), problem: el('p', { class: 'problem', role: 'alert', hidden: true }) });
    const choice = (/** @type {[string, string][]} */ options, /** @type {string} */ now, /** @type {(v: string) => void} */ onPick) => el('select', { class: 'input', onchange: (/** @type {any} */ e) => { onPick(e.target.value); this.kept(); } }, options.map(([value, text]) => el('option', { value, selected: value === now }, text)));
    const walk = walkEdge(this);
    this.end = walk.end;
    host.append(el('p', {}, say('tape.how')),
      el('label', { class: 'text' }, el('span', {}, say('tape.shape')), choice(Object.keys(SHAPES).map((s) => [s, say(`tape.${s}`)]), state.shape, (v) => { state.shape = v; this.draw(); })),
      el('label', { class: 'text' }, el('span', {}, say('tape.it_is')), choice([['', say('tape.lawn')], ['off', say('tape.off')]], state.off ? 'off' : '', (v) => { state.off = v !== ''; })),
      this.fields, this.problem, el('button', { type: 'button', class: 'btn', 'data-add-piece': true, onclick: () => this.add() }, say('tape.add')), ...walk.nodes, this.list);
    this.draw();
    this.sum();
  }

  draw() {
    const { lengths } = SHAPES[this.state.shape];
    const typed = this.state.typed[this.state.shape] ??= lengths.map(() => '');
    this.inputs = lengths.map((l, i) => el('input', { inputmode: l === 'list' ? 'text' : 'decimal', autocomplete: 'off', 'data-field': l, value: typed[i],
      oninput: (/** @type {any} */ e) => { typed[i] = e.target.value; this.kept(); }, onchange: () => this.judge() }));
    show(this.fields, sketchOf(this.state.shape), this.inputs.map((input, i) => el('label', { class: 'text' }, el('span', {}, `${'ABC'[i]}: ${this.say(`tape.${lengths[i]}`)}`), input)));
    this.judge();
  }

  /** Says what is wrong with the lengths; those still empty only when the piece is to be taken in. @returns {number|null} its area, null when there is none yet */
  judge(need = false) {
    const { say } = this;
    const { lengths, area } = SHAPES[this.state.shape];
    const read = this.inputs.map((i, k) => (lengths[k] === 'list' ? offsetsOf(i.value) : numberOf(i.value, 0.1, LONGEST, 'ft')));
    const bad = read.flatMap((r, i) => (r.problem || (need && r.n === null) ? [i] : []));
    const [first] = bad.map((i) => read[i]);
    if (first) return this.wrong(bad.map((i) => this.inputs[i]), first.problem ? say(`problem.${first.problem.code}`, first.problem.params) : say('tape.need'));
    const all = read.every((r) => r.n !== null) ? area(...read.map((r) => r.n)) : null;
    if (Number.isNaN(all)) return this.wrong(this.inputs, say(this.state.shape === 'offsets' ? 'tape.need' : 'tape.open'));
    this.wrong([]);
    return all;
  }

  /** Takes the piece in when it can be one; what was typed stays when not. */
  add() {
    const { shape, off, typed } = this.state;
    const area = this.judge(true);
    if (area === null) return this.inputs.find((i) => i.hasAttribute('aria-invalid'))?.focus();
    if (!this.piece({ shape, off, area })) return this.wrong(this.inputs, this.say('tape.too_much'));
    delete typed[shape];
    this.draw();
    return this.kept();
  }

  /** Takes a piece in, by tape or on foot; false when more would be taken off than there is. */
  piece(piece) {
    if (Number.isNaN(lawn([...this.state.pieces, piece]))) return false;
    this.state.pieces.push(piece);
    this.sum();
    this.give();
    return true;
  }

  /** @param {HTMLElement[]} inputs @param {string} [text] @returns {null} */
  wrong(inputs, text = '') {
    show(this.problem);
    mark(this.inputs, this.problem, false);
    show(this.problem, text);
    mark(inputs, this.problem, true);
    return null;
  }

  /** The sum goes where the area is typed. */
  give() {
    const all = lawn(this.state.pieces);
    if (this.state.pieces.length > 0 && all > 0) this.take(figure(all, 0));
    this.kept();
  }

  sum() {
    const { say, state: { pieces } } = this;
    show(this.list, pieces.map((p, i) => el('li', { class: 'item' }, el('span', { class: 'row-text' }, say(p.off ? 'tape.piece_off' : 'tape.piece', { shape: say(`tape.${p.shape}`), n: figure(p.area, 0) })),
      el('button', { type: 'button', class: 'btn', onclick: () => this.remove(i) }, say('aid.remove')))));
  }

  /** Takes a piece out again, unless more would then be taken off than there is. @param {number} i */
  remove(i) {
    const left = this.state.pieces.filter((_, k) => k !== i);
    if (left.length > 0 && Number.isNaN(lawn(left))) return this.wrong([], this.say('tape.too_much'));
    this.state.pieces = left;
    this.wrong([]);
    this.sum();
    return this.give();
  }
}

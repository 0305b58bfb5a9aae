// An area by tape: shapes that a zone is cut into, beds and drives taken off, and the sum put where the area is typed.

import { figure, numberOf } from './aidparts.js';
import { SHAPES, lawn } from './tape.js';
import { el, show, svg } from './dom.js';
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

export class Taping {
  /** @param {{say: import('./words.js').Say}} page @param {HTMLElement} host @param {(sqft: string) => void} take */
  constructor({ say }, host, take) {
    Object.assign(this, { say, take, shape: 'rectangle', off: false, pieces: [], list: el('ul', { class: 'rows' }), fields: el('div', { class: 'aid-body' }), problem: el('p', { class: 'problem', role: 'alert', hidden: true }) });
    const choice = (/** @type {[string, string][]} */ options, /** @type {(v: string) => void} */ onPick) => el('select', { class: 'input', onchange: (/** @type {any} */ e) => onPick(e.target.value) }, options.map(([value, text]) => el('option', { value }, text)));
    host.append(el('p', {}, say('tape.how')),
      el('label', { class: 'text' }, el('span', {}, say('tape.shape')), choice(Object.keys(SHAPES).map((s) => [s, say(`tape.${s}`)]), (v) => { this.shape = v; this.draw(); })),
      el('label', { class: 'text' }, el('span', {}, say('tape.it_is')), choice([['', say('tape.lawn')], ['off', say('tape.off')]], (v) => { this.off = v !== ''; })),
      this.fields, this.problem, el('button', { type: 'button', class: 'btn', 'data-add-piece': true, onclick: () => this.add() }, say('tape.add')), ...walkEdge(this), this.list);
    this.draw();
    this.sum();
  }

  draw() {
    this.inputs = SHAPES[this.shape].lengths.map((l) => el('input', { inputmode: l === 'list' ? 'text' : 'decimal', autocomplete: 'off', maxlength: l === 'list' ? 200 : 12 }));
    show(this.fields, sketchOf(this.shape), this.inputs.map((input, i) =>
      el('label', { class: 'text' }, el('span', {}, `${'ABC'[i]}: ${this.say(`tape.${SHAPES[this.shape].lengths[i]}`)}`), input)));
  }

  /** Takes the piece in when it can be one; what was typed stays when not. */
  add() {
    const { say } = this;
    const read = this.inputs.map((i, k) => (SHAPES[this.shape].lengths[k] === 'list' ? offsetsOf(i.value) : numberOf(i.value, 0.1, LONGEST, 'ft')));
    const bad = read.findIndex((r) => r.n === null);
    if (bad >= 0) return this.wrong(this.inputs[bad], read[bad].problem ? say(`problem.${read[bad].problem.code}`, read[bad].problem.params) : say('tape.need'));
    const area = SHAPES[this.shape].area(...read.map((r) => r.n));
    if (Number.isNaN(area)) return this.wrong(this.inputs[0], say('tape.open'));
    if (!this.piece({ shape: this.shape, off: this.off, area })) return this.wrong(this.inputs[0], say('tape.too_much'));
    return this.draw();
  }

  /** Takes a piece in, by tape or on foot; false when more would be taken off than there is. */
  piece(piece) {
    if (Number.isNaN(lawn([...this.pieces, piece]))) return false;
    show(this.problem);
    this.pieces.push(piece);
    this.sum();
    return true;
  }

  wrong(input, text) {
    show(this.problem, el('span', {}, text));
    input.focus();
  }

  sum() {
    const { say } = this;
    const all = lawn(this.pieces);
    show(this.list, this.pieces.map((p, i) => el('li', { class: 'item' }, el('span', { class: 'row-text' }, say(p.off ? 'tape.piece_off' : 'tape.piece', { shape: say(`tape.${p.shape}`), n: figure(p.area, 0) })),
      el('button', { type: 'button', class: 'btn', onclick: () => { this.pieces.splice(i, 1); this.sum(); } }, say('aid.remove')))));
    if (this.pieces.length > 0 && all > 0) this.take(figure(all, 0));
  }
}

// What a spreader or sprayer puts out, measured over a strip. The rate shows at once; the calibration is kept like a reading.

import { boot } from './shell.js';
import { el, mark, part, show, under } from './dom.js';
import { rowField, says } from './aidparts.js';
import { calibrationProblem, nozzles, rate, wanted } from './record.js';
import { crew } from './units.js';
import { Work, amountSays, figure, rateSays } from './work.js';
import { clockTime, short, textIn, when } from './words.js';

const DRAFT = 'calibrate';
const TYPED = ['equipment', 'setting', 'width', 'length', 'collected', 'want', 'note'];
const FIELDS = ['equipment', 'material', 'setting', 'width', 'length', 'collected', 'unit', 'want', 'note'];

class CalibratePage {
  constructor(page, view) {
    Object.assign(this, { page, form: part('form') });
    this.hosts = new Map(TYPED.map((name) => [name, under(this.form.elements.namedItem(name))]));
    this.know(view);
    const { say } = page;
    show(part('materials'), el('option', { value: '' }, say('calibrate.water')), this.work.offered().map((m) => el('option', { value: m.id }, m.name)));
    show(part('units'), this.work.book.units.map((u) => el('option', { value: u.id }, textIn(u.label, page.lang))));
    this.catches();
    this.unit();
    this.form.addEventListener('input', () => this.changed());
    this.form.elements.material.addEventListener('change', () => this.unit());
    this.form.elements.kind.forEach((k) => k.addEventListener('change', () => this.unit()));
    this.form.addEventListener('submit', (e) => { e.preventDefault(); this.keep(); });
    addEventListener('pagehide', () => this.saveDraft());
    document.addEventListener('visibilitychange', () => { if (document.hidden) this.saveDraft(); });
  }

  /** Puts back what was begun and not kept, then shows the form. */
  async start() {
    const draft = await this.page.db.read(['drafts'], (tx) => tx.get('drafts', DRAFT)).catch(() => null);
    if (draft) this.fill(draft.form);
    this.form.hidden = false;
  }

  fill({ kind, fields, catches, half }) {
    const { elements } = this.form;
    if (kind) elements.kind.value = kind;
    elements.material.value = fields.material ?? '';
    this.catches(catches, half);
    this.unit();
    for (const name of FIELDS) if (fields[name]) elements.namedItem(name).value = fields[name];
    if (elements.material.selectedIndex < 0) elements.material.value = ''; // no longer offered
    this.reckon();
  }

  changed() {
    this.reckon();
    this.dirty = true;
    this.form.dataset.draft = 'begun';
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.saveDraft(), 250);
  }

  /** Everything as it stands in the form, readable or not. */
  saveDraft() {
    clearTimeout(this.timer);
    if (!this.dirty) return undefined;
    this.dirty = false;
    const { elements } = this.form;
    const form = { kind: elements.kind.value, fields: Object.fromEntries(FIELDS.map((name) => [name, elements.namedItem(name).value])), catches: this.sheet.state.catches, half: this.sheet.state.half };
    const draft = { visit: '', zone: '', check: 'calibration', text: '', form };
    return this.page.db.keep(['drafts'], (tx) => tx.put('drafts', draft, DRAFT)).then(() => { if (!this.dirty) this.form.dataset.draft = 'kept'; }).catch(() => { this.dirty = true; });
  }

  know(view) {
    this.view = view;
    this.work = new Work(view);
    this.list();
  }

  /** The nozzles of a sprayer one by one, as a row of numbers. */
  catches(catches = [], half = '') {
    const { page } = this;
    const sheet = { state: { catches, half }, page, set: (name, value) => { sheet.state[name] = value; if (this.row) this.changed(); } };
    this.sheet = sheet;
    this.row = rowField(sheet, 'catches', page.say('calibrate.nozzles'), { low: 0, high: 1e6 });
    show(part('nozzle-row'), this.row.node);
  }

  /** A sprayer is measured by volume, a spreader in the unit of what is spread; on the firm's side. */
  unit() {
    const { elements } = this.form;
    const { metric } = this.work;
    const m = this.work.offered().find((x) => x.id === elements.material.value);
    const sprayer = elements.kind.value === 'sprayer';
    const of = this.work.book.units.find((u) => u.id === m?.unit)?.of;
    const usual = sprayer ? ['gal', 'L'] : of === 'mass' ? [m.unit, 'kg'] : ['lb', 'kg'];
    elements.unit.value = usual[metric ? 1 : 0];
    for (const name of ['width', 'length']) elements.namedItem(name).placeholder = this.page.say(metric ? 'calibrate.metres' : 'calibrate.feet');
    elements.want.placeholder = rateSays(this.page.say, 1, `${elements.unit.value}/1000 ft2`, metric).replace(/^\S+ /, '');
    part('nozzles').hidden = !sprayer;
    this.reckon();
  }

  /** What was typed, with the firm's unit where that is not the record's own. */
  typed(name, own) {
    const text = this.form.elements.namedItem(name).value.trim(); // a collection has a length of its own
    return this.work.metric && text !== '' && !/[a-z]/i.test(text) ? `${text} ${own}` : text;
  }

  body() {
    const { elements } = this.form;
    const text = (name) => elements.namedItem(name).value.trim();
    const m = this.work.offered().find((x) => x.id === elements.material.value);
    const sprayer = elements.kind.value === 'sprayer';
    const ground = crew(1, `${elements.unit.value}/1000 ft2`, true).unit;
    return { equipment: text('equipment'), kind: elements.kind.value, material: m?.id ?? '', name: m?.name ?? this.page.say('calibrate.water'), setting: text('setting'), unit: text('unit'),
      collected: text('collected'), catches: sprayer ? this.sheet.state.catches.join('; ') : '', width: this.typed('width', 'm'), length: this.typed('length', 'm'), want: this.typed('want', ground), note: text('note') };
  }

  reckon() {
    const { say } = this.page;
    const b = this.body();
    for (const name of TYPED) this.says(name, calibrationProblem(this.work.book, b.unit, name, b[name]));
    const r = rate(this.work.book, b);
    const spread = this.spread(b);
    if (!r) return show(part('result'), spread);
    const want = wanted(this.work.book, b);
    const off = want > 0 ? (r / want - 1) * 100 : 0;
    const feet = (text) => (/[a-z]/i.test(text) ? text : `${text} ft`);
    return show(part('result'), el('p', {}, el('b', {}, rateSays(say, r, `${b.unit}/1000 ft2`, this.work.metric))),
      el('p', { class: 'soft' }, say('calibrate.working', { collected: `${b.collected || b.catches.replaceAll('; ', ' + ')} ${b.unit}`, width: feet(b.width), length: feet(b.length) })),
      want > 0 ? el('p', {}, say('calibrate.off', { percent: figure(Math.abs(off)), way: say(off < 0 ? 'calibrate.below' : 'calibrate.above') })) : null, spread);
  }

  /** @param {string} name @param {{code: string, params?: any}|null} problem */
  says(name, problem) {
    says(this.page.say, [this.form.elements.namedItem(name)], /** @type {HTMLElement} */ (this.hosts.get(name)), problem);
  }

  /** How far each nozzle is from the mean of all; those to replace are named. */
  spread(b) {
    const { say } = this.page;
    const found = nozzles(this.work.book, b);
    if (!found) return null;
    const amountOf = (x) => amountSays(x, b.unit, this.work.metric);
    const line = (n, i) => say(n.worn ? 'calibrate.worn' : 'calibrate.nozzle', { n: i + 1, caught: amountOf(n.caught), percent: figure(Math.abs(n.off)), way: say(n.off < 0 ? 'calibrate.below' : 'calibrate.above') });
    return [el('p', {}, el('b', {}, say('calibrate.mean', { n: found.list.length, mean: amountOf(found.mean) }))),
      el('ul', { 'data-spread': true }, found.list.map((n, i) => el('li', { class: n.worn ? 'problem-text' : '' }, line(n, i)))),
      el('p', { class: 'soft' }, say('calibrate.worn_from'))];
  }

  /** The first input that lacks or can't be read: each stands against one that can. @returns {string} '' when none is */
  wrong(b) {
    const unread = TYPED.find((name) => this.form.elements.namedItem(name).hasAttribute('aria-invalid'));
    if (unread) return unread;
    const { book } = this.work;
    const fine = { unit: b.unit, collected: '1', catches: '', width: '1', length: '1' };
    const reads = { equipment: b.equipment !== '', width: rate(book, { ...fine, width: b.width }) > 0, length: rate(book, { ...fine, length: b.length }) > 0,
      collected: rate(book, { ...fine, collected: b.collected, catches: b.catches }) > 0 };
    return Object.keys(reads).find((name) => !reads[name]) ?? '';
  }

  async keep() {
    const { say } = this.page;
    const b = this.body();
    const said = part('said');
    const wrong = this.wrong(b);
    if (wrong) {
      const input = this.form.elements.namedItem(wrong), host = /** @type {HTMLElement} */ (this.hosts.get(wrong));
      if (host.hidden) show(host, say(b[wrong] === '' ? 'calibrate.need' : 'calibrate.unread', { name: input.closest('.text').querySelector('label, span').textContent, text: short(b[wrong]) }));
      mark([input], host, true);
      said.textContent = '';
      return input.focus();
    }
    if (this.sheet.state.half.trim() !== '') return part('nozzle-row').querySelector('input').focus(); // a number that can't be read has its sentence
    try {
      clearTimeout(this.timer);
      this.dirty = false;
      const row = await this.page.record('calibration', b, [], { draft: DRAFT });
      this.form.reset();
      this.catches();
      this.unit();
      said.textContent = say('calibrate.kept', { time: clockTime(row.saved) });
      this.know(await this.page.look());
    } catch (err) {
      said.textContent = say('kept.not', { why: say('kept.phone', { why: err?.message ?? '' }) });
    }
    return undefined;
  }

  list() {
    const { say } = this.page;
    const last = [...this.work.calibrations].sort((a, b) => (a.at < b.at ? 1 : -1)).slice(0, 12);
    show(part('list'), last.length > 0 ? el('h2', {}, say('calibrate.last')) : null, last.length > 0 ? el('ul', { class: 'rows' }, last.map((c) => el('li', { class: 'item' },
      el('span', { class: 'row-text' }, el('b', {}, [c.equipment, c.setting].filter(Boolean).join(', ')), el('span', { class: 'soft' }, [c.name, when(Date.parse(c.at), Date.now())].join(' · '))),
      el('b', { class: 'num' }, rateSays(say, rate(this.work.book, c), `${c.unit}/1000 ft2`, this.work.metric))))) : null);
  }
}

let shown = null;
boot('calibrate', {
  form: true,
  draw: (page, view) => {
    if (shown) return shown.know(view);
    if (!view.body.record) return show(part('list'), el('p', { class: 'empty' }, page.say('apply.no_book')));
    shown = new CalibratePage(page, view);
    return shown.start();
  },
});

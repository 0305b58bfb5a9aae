// What a spreader or sprayer puts out, measured over a strip. The rate shows at once; the calibration is kept like a reading.

import { boot } from './shell.js';
import { el, part, show } from './dom.js';
import { amount, rate } from './record.js';
import { Work, figure } from './work.js';
import { clockTime, textIn, when } from './words.js';

class CalibratePage {
  constructor(page, view) {
    Object.assign(this, { page, form: part('form') });
    this.know(view);
    const { say } = page;
    show(part('materials'), el('option', { value: '' }, say('calibrate.water')), this.work.offered().map((m) => el('option', { value: m.id }, m.name)));
    show(part('units'), this.work.book.units.map((u) => el('option', { value: u.id }, textIn(u.label, page.lang))));
    this.form.elements.unit.value = 'lb';
    this.form.hidden = false;
    this.form.addEventListener('input', () => this.reckon());
    this.form.elements.material.addEventListener('change', () => this.unit());
    this.form.elements.kind.forEach((k) => k.addEventListener('change', () => this.unit()));
    this.form.addEventListener('submit', (e) => { e.preventDefault(); this.keep(); });
  }

  know(view) {
    this.view = view;
    this.work = new Work(view);
    this.list();
  }

  /** A sprayer is measured in gallons, a spreader in the unit of what is spread. */
  unit() {
    const { elements } = this.form;
    const m = this.work.offered().find((x) => x.id === elements.material.value);
    const sprayer = elements.kind.value === 'sprayer';
    const of = this.work.book.units.find((u) => u.id === m?.unit)?.of;
    elements.unit.value = sprayer ? 'gal' : of === 'mass' ? m.unit : 'lb';
    this.reckon();
  }

  body() {
    const { elements } = this.form;
    const text = (name) => elements.namedItem(name).value.trim(); // a collection has a length of its own
    const m = this.work.offered().find((x) => x.id === elements.material.value);
    return { equipment: text('equipment'), kind: elements.kind.value, material: m?.id ?? '', name: m?.name ?? this.page.say('calibrate.water'), setting: text('setting'), unit: text('unit'),
      collected: text('collected'), width: text('width'), length: text('length'), want: text('want'), note: text('note') };
  }

  reckon() {
    const { say } = this.page;
    const b = this.body();
    const r = rate(this.work.book, b);
    if (!r) return show(part('result'));
    const want = amount(this.work.book, b.unit, b.want);
    const off = want > 0 ? (r / want - 1) * 100 : 0;
    return show(part('result'), el('p', {}, el('b', {}, say('calibrate.result', { rate: figure(r), unit: b.unit }))),
      el('p', { class: 'soft' }, say('calibrate.working', b)),
      want > 0 ? el('p', {}, say('calibrate.off', { percent: figure(Math.abs(off)), way: say(off < 0 ? 'calibrate.below' : 'calibrate.above') })) : null);
  }

  async keep() {
    const { say } = this.page;
    const b = this.body();
    const said = part('said');
    const empty = ['equipment', 'width', 'length', 'collected'].find((name) => b[name] === '');
    if (empty || !rate(this.work.book, b)) {
      said.textContent = say('calibrate.need');
      return this.form.elements.namedItem(empty ?? 'collected').focus();
    }
    try {
      const row = await this.page.record('calibration', b);
      this.form.reset();
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
      el('b', { class: 'num' }, say('calibrate.row', { rate: figure(rate(this.work.book, c)), unit: c.unit }))))) : null);
  }
}

let shown = null;
boot({
  form: true,
  draw: (page, view) => {
    if (shown) return shown.know(view);
    if (!view.body.record) return show(part('list'), el('p', { class: 'empty' }, page.say('apply.no_book')));
    shown = new CalibratePage(page, view);
    return undefined;
  },
});

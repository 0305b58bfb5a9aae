// Adding a zone that the office does not know. What is typed and taped stays on this phone until it is added.

import { mark, part, show, under } from './dom.js';
import { readArea } from './area.js';
import { Taping } from './taping.js';
import { short } from './words.js';

const HALF = 300;
const LONGEST = 80; // characters of a name, as the office takes them

const tape = () => ({ shape: 'rectangle', off: false, typed: {}, pieces: [], fixes: [] });

export class Adding {
  /** @param {import('./shell.js').Page} page @param {string} visit @param {() => any} added what follows when a zone was added */
  constructor(page, visit, added) {
    Object.assign(this, { page, visit, added, key: `zone ${visit}`, form: page.part('add'), timer: 0, metric: false, property: '', state: tape(), hosts: {} });
    for (const name of ['name', 'area']) {
      this.hosts[name] = under(this.form.elements[name]);
      this.form.elements[name].addEventListener('change', () => this.judge());
    }
    this.form.addEventListener('input', () => this.changed());
    this.form.addEventListener('submit', (/** @type {Event} */ e) => { e.preventDefault(); this.add(); });
    document.addEventListener('visibilitychange', () => { if (document.visibilityState === 'hidden' && this.timer) this.keep(); }, { signal: page.end.signal });
    page.end.signal.addEventListener('abort', () => { this.taping?.end(); if (this.timer) this.keep(); });
    this.ready = this.restore();
  }

  async restore() {
    const was = await this.page.db.read(['drafts'], (tx) => tx.get('drafts', this.key)).catch(() => null);
    if (was) {
      this.form.elements.name.value = was.form.name;
      this.form.elements.area.value = was.form.area;
      this.state = was.form.tape;
    }
    this.draw();
    this.judge();
  }

  /** Shapes by tape, whose sum becomes the area. */
  draw() {
    const host = this.page.part('tape');
    this.taping?.end();
    host.replaceChildren();
    this.taping = new Taping(this.page, host, this.state, { kept: () => this.changed(), take: (sqft) => {
      this.form.elements.area.value = this.metric ? `${sqft} sq ft` : sqft;
      this.judge();
    } });
    if (this.state.pieces.length > 0 || this.state.fixes.length > 0) host.closest('details').open = true;
  }

  changed() {
    this.said('');
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.keep(), HALF);
  }

  /** Everything as it stands in the form, readable or not. */
  keep() {
    clearTimeout(this.timer);
    this.timer = 0;
    const { name: { value: name }, area: { value: area } } = this.form.elements;
    const { typed, pieces, fixes } = this.state;
    const empty = [name, area, ...Object.values(typed).flat()].every((text) => text.trim() === '') && pieces.length + fixes.length === 0;
    const draft = { visit: this.visit, zone: '', check: 'zone', text: name, form: { name, area, tape: this.state } };
    return this.page.db.keep(['drafts'], (tx) => (empty ? tx.delete('drafts', this.key) : tx.put('drafts', draft, this.key))).catch((/** @type {any} */ err) => this.not(err));
  }

  /** Says at each field what is wrong with it. @returns {{name: string, sqft: number|undefined}|null} what can be added */
  judge(need = false) {
    const { say } = this.page;
    const { name, area } = this.form.elements;
    const called = name.value.trim(), sqft = area.value.trim() === '' ? undefined : readArea(area.value, this.metric);
    const problems = {
      name: need && called === '' ? say('visit.need_name') : [...called].length > LONGEST ? say('problem.too_long', { high: LONGEST }) : '',
      area: Number.isNaN(sqft) ? say('visit.bad_area', { text: short(area.value.trim()) }) : '',
    };
    for (const [field, text] of Object.entries(problems)) {
      show(this.hosts[field], text);
      mark([this.form.elements[field]], this.hosts[field], text !== '');
    }
    const bad = Object.keys(problems).find((field) => problems[field] !== '');
    if (bad && need) this.form.elements[bad].focus();
    return bad ? null : { name: called, sqft };
  }

  async add() {
    const { say } = this.page;
    const zone = this.judge(true);
    if (!zone || this.busy) return undefined;
    this.busy = true;
    const body = { visit: this.visit, property: this.property, name: zone.name, ...(zone.sqft === undefined ? {} : { area_sqft: zone.sqft }) };
    try {
      clearTimeout(this.timer);
      this.timer = 0;
      await this.page.record('zone', body, [], { draft: this.key }); // the record's own id is the zone's
    } catch (err) {
      return this.not(err);
    } finally {
      this.busy = false;
    }
    this.form.reset();
    this.state = tape();
    this.draw();
    this.judge();
    this.said(say('visit.added', { name: zone.name }));
    return this.added();
  }

  not(err) {
    this.said(this.page.say('kept.not', { why: this.page.say('kept.phone', { why: err?.message ?? '' }) }));
  }

  said(text) {
    part('said', this.form).textContent = text;
  }
}

// The record of what was put down: material, zones and amounts, conditions. It is kept whatever is missing or above a limit;
// both are said at once.

import { boot } from './shell.js';
import { control } from './control.js';
import { el, mark, part, show, under } from './dom.js';
import { amount, amountCheck, needed } from './record.js';
import { read } from './read.js';
import { areaOf, areaTyped, splitAmount, typedOf, zoneRow, zoneSays } from './applyzones.js';
import { areaText } from './area.js';
import { Work, amountSays, dayWhere, figure, flagSays, goodsOf, offSays } from './work.js';
import { crew, unitWords } from './units.js';
import { localTime } from './ids.js';
import { clockTime, dayOf, textIn, when } from './words.js';

const LONGEST = { name: 200, reg_no: 60, reason: 400 }; // characters
const ITEM = 4000; // characters of an item, as the office takes them
const PEOPLE = ['applicator', 'certified', 'certificate'];

/** A day and a time of day as the phone's own moment; '' when either is missing. @param {string} day @param {string} time */
export function moment(day, time) {
  const at = new Date(`${day}T${time}:00`);
  if (!day || !time || Number.isNaN(at.getTime())) return '';
  return localTime(at.getTime(), -at.getTimezoneOffset());
}

const timeOf = (text) => /T(\d\d:\d\d)/.exec(text ?? '')?.[1] ?? '';

class ApplyPage {
  constructor(page, view) {
    Object.assign(this, { page, view, work: new Work(view), form: part('form'), items: new Map(), zones: new Map(), material: null, kept: null });
    this.id = page.query.get('visit') ?? '';
    this.visit = view.visits.get(this.id);
    this.key = `apply ${this.id}`;
    this.step = this.work.steps.find((s) => s.id === page.query.get('step') && s.visit === this.id) ?? null;
    this.first = this.work.records.get(page.query.get('corrects') ?? '') ?? null;
    for (const box of this.form.querySelectorAll('fieldset.check')) this.item(box);
    this.hosts = Object.keys(LONGEST).map((name) => /** @type {[string, HTMLElement]} */ ([name, under(this.form.elements[name])]));
  }

  item(box) {
    const check = this.work.book.items.find((x) => x.id === box.dataset.check)?.check;
    const ctl = check ? control(box, check, this.view.metric) : null;
    if (ctl) this.items.set(check.id, { box, check, ctl });
    else box.hidden = true;
  }

  async start() {
    const { say } = this.page;
    const { property } = this.view.place(this.visit);
    part('sub').textContent = property?.address ?? '';
    part('back').href = `/field/visit?visit=${encodeURIComponent(this.id)}`;
    this.materials();
    this.units();
    this.top();
    this.fill(await this.begin());
    this.form.hidden = false;
    this.form.addEventListener('submit', (e) => e.preventDefault());
    this.form.addEventListener('input', () => this.changed());
    this.form.addEventListener('change', () => this.changed());
    part('change').addEventListener('click', () => this.folded(false));
    document.addEventListener('visibilitychange', () => { if (document.visibilityState === 'hidden' && this.timer) this.keepDraft(); });
    this.form.addEventListener('click', (e) => this.now(e.target.closest('[data-now]')));
    part('keep').hidden = false;
    this.refresh();
    document.title = `${say('apply.title')} · ${property?.address ?? ''}`;
  }

  /** What stands in the form first: what was begun and not kept, the record to correct, or who did it last time. */
  async begin() {
    const draft = await this.page.db.read(['drafts'], (tx) => tx.get('drafts', this.key));
    const asked = this.first ? `correct ${this.first.id}` : this.step?.id ?? '';
    if (draft?.about === asked) return draft.form;
    if (this.first) return { ...this.first, zones: this.first.zones.map((z) => ({ ...z })) };
    const goods = this.step ? this.nextGoods() : null;
    const now = Date.now();
    return { material: goods?.material ?? '', name: '', reg_no: '', unit: '', zones: [], start: '', end: '', day: dayOf(now), items: this.habits(goods?.material) };
  }

  /** Of a step that takes several materials, the first one without a record. */
  nextGoods() {
    const had = this.work.ofVisit(this.id).filter((a) => a.step === this.step.id);
    const all = goodsOf(this.step);
    return all.find((g) => !had.some((a) => a.material === g.material)) ?? all[0] ?? null;
  }

  /** The people and the equipment of this author's last record of such a material. */
  habits(material) {
    const mine = [...this.work.records.values()].filter((a) => a.author === this.view.known.me?.id).sort((a, b) => (a.at < b.at ? 1 : -1));
    const last = mine[0]?.items ?? {};
    const same = mine.find((a) => a.material === material)?.items ?? {};
    const out = { applicator: this.view.known.me?.name ?? '' };
    for (const id of PEOPLE) if (last[id]) out[id] = last[id];
    for (const id of ['equipment', 'method']) if (same[id]) out[id] = same[id];
    return out;
  }

  materials() {
    const { say } = this.page;
    const planned = new Set(this.work.stepsOf(this.id).flatMap((s) => goodsOf(s).map((g) => g.material)));
    const list = this.work.offered().sort((a, b) => Number(planned.has(b.id)) - Number(planned.has(a.id)));
    const option = (value, name, more, tag) => el('label', { class: 'opt' }, el('input', { type: 'radio', name: 'material', value }),
      el('span', { class: 'row-text' }, el('b', {}, name), more ? el('span', { class: 'soft' }, more) : null), tag ? el('span', { class: 'tag done' }, tag) : null);
    const lang = this.page.lang;
    show(part('materials'), list.map((m) => {
      const kind = this.work.kind(m)?.label;
      return option(m.id, m.name, (lang === 'es' && kind?.es) || kind?.en, planned.has(m.id) ? say('apply.planned') : '');
    }), option('other', say('apply.other')));
  }

  units() {
    show(part('units'), this.work.book.units.map((u) => el('option', { value: u.id }, textIn(u.label, this.page.lang))));
  }

  top() {
    const { say } = this.page;
    const off = offSays(say, this.work.running(this.visit.property, Date.now()), this.view, (t) => when(t, Date.now()));
    show(part('top'), off.length > 0 ? el('div', { class: 'note stop' }, off.map((t) => el('p', {}, t))) : null,
      this.first ? el('div', { class: 'note' }, el('p', {}, say('apply.correcting', { time: clockTime(Date.parse(this.first.at)) })),
        el('button', { type: 'button', class: 'btn stop', onclick: () => this.askWithdraw() }, say('apply.withdraw'))) : null,
      this.step ? el('p', { class: 'quote' }, this.stepSays()) : null);
    part('reason').hidden = !this.first;
  }

  stepSays() {
    const text = this.step.step?.do ?? {};
    return (this.page.lang === 'es' && text.es) || text.en || '';
  }

  fill(was) {
    const { elements } = this.form;
    const value = was.material || (was.name ? 'other' : '');
    const choice = [...this.form.querySelectorAll('input[name=material]')].find((i) => i.value === value) ?? [...this.form.querySelectorAll('input[name=material]')].find((i) => i.value === 'other');
    if (value) choice.checked = true;
    elements.name.value = was.name ?? '';
    elements.reg_no.value = was.reg_no ?? '';
    if (was.unit) elements.unit.value = was.unit;
    elements.day.value = was.day || dayWhere(was.start, was.at) || dayOf(Date.now());
    elements.start.value = timeOf(was.start);
    elements.end.value = timeOf(was.end);
    elements.reason.value = was.reason ?? '';
    this.choose();
    for (const [id, f] of this.items) f.ctl.typed = was.items?.[id] ?? '';
    for (const z of was.zones ?? []) this.setZone(z);
  }

  setZone({ zone, typed, area, area_sqft: sqft, stood }) {
    const z = this.zones.get(zone);
    if (!z) return;
    if (stood) {
      [z.amount.value, z.unit.value, z.area.value] = stood;
      return;
    }
    const [text, unit] = splitAmount(typed ?? '', this.work.book, this.unit());
    z.amount.value = text;
    z.unit.value = unit || this.unit();
    if (sqft || area) z.area.value = area || areaText(sqft, this.view.metric);
  }

  /** The chosen material decides the unit, the items and whether a number of registration is asked for. */
  choose() {
    const chosen = this.form.querySelector('input[name=material]:checked')?.value ?? '';
    this.material = this.work.offered().find((m) => m.id === chosen) ?? (this.first?.material && chosen === this.first.material ? this.work.materialOf(this.first.material, this.first.version) : null);
    part('other').hidden = chosen !== 'other';
    const pesticide = this.work.kind(this.material)?.pesticide || chosen === 'other';
    part('reg').hidden = !pesticide;
    if (this.material && this.shownFor !== chosen && this.shownFor !== undefined) this.form.elements.reg_no.value = '';
    if (this.material?.reg_no && !this.form.elements.reg_no.value) this.form.elements.reg_no.value = this.material.reg_no;
    this.shownFor = chosen;
    this.folded(chosen !== '');
    this.arrange();
    this.drawZones(chosen);
  }

  /** Once one is chosen the other materials fold away, so that the zones come up under the thumb. @param {boolean} yes */
  folded(yes) {
    part('materials').classList.toggle('folded', yes);
    part('change').hidden = !yes;
  }

  arrange(record) {
    const want = needed(this.work.book, this.material, this.work.firm, record, record ? this.work.ofDay(record.day) : []);
    const key = [...want].join(' ');
    if (key === this.arranged) return;
    this.arranged = key; // moving a field takes the focus out of it
    for (const [id, f] of this.items) {
      const host = want.has(id) ? part('needed') : part('more');
      if (f.box.parentElement !== host || host === part('needed')) host.append(f.box);
    }
  }

  unit() {
    return this.material?.unit ?? this.form.elements.unit.value;
  }

  drawZones(chosen) {
    const { say } = this.page;
    this.drawnUnit = this.unit(); // drawn anew for another unit only: a field that is typed into would be gone from under it
    if (!chosen) return show(part('zones'));
    const had = new Map([...this.zones].map(([id, z]) => [id, { typed: z.amount.value, unit: z.amount.value.trim() === '' ? '' : z.unit.value, area: z.area.value }]));
    const zones = this.view.zonesOf(this.visit.property);
    this.zones = new Map(zones.map((z) => [z.id, this.zoneRow(z, had.get(z.id))]));
    const plan = this.planned();
    show(part('zones'), el('h2', {}, say('apply.zones')),
      plan.size > 0 ? el('button', { type: 'button', class: 'btn', onclick: () => this.asPlanned() }, say('apply.as_planned')) : null,
      [...this.zones.values()].map((z) => z.box), el('p', { class: 'total', 'data-total': true, role: 'status' }));
  }

  zoneRow(zone, had) {
    return zoneRow(zone, had, { say: this.page.say, lang: this.page.lang, metric: this.view.metric, check: amountCheck(this.work.book, this.unit()), plan: this.planned().get(zone.id) });
  }

  /** What the plan gives each zone of the chosen material. @returns {Map<string, {value: number, unit: string}>} */
  planned() {
    const out = new Map();
    if (!this.step || !this.material) return out;
    for (const g of goodsOf(this.step)) if (g.material === this.material.id) for (const z of g.zones) if (z.amount) out.set(z.zone, z.amount);
    return out;
  }

  asPlanned() {
    for (const [id, q] of this.planned()) {
      const z = this.zones.get(id);
      if (!z) continue;
      const own = crew(q.value, q.unit, this.view.metric);
      const told = z.check.units.some((u) => u.id === own.unit) ? own : q;
      z.amount.value = figure(told.value);
      z.unit.value = told.unit;
    }
    this.changed();
  }

  now(button) {
    if (!button) return;
    const now = new Date();
    this.form.elements[button.dataset.now].value = `${String(now.getHours()).padStart(2, '0')}:${String(now.getMinutes()).padStart(2, '0')}`;
    this.changed();
  }

  /** The record as the form stands. Zones without an amount got nothing and are left out. */
  gather() {
    const { elements } = this.form;
    const items = {};
    for (const [id, f] of this.items) if (String(f.ctl.typed).trim() !== '') items[id] = f.ctl.typed;
    const zones = [...this.zones.values()].filter((z) => z.amount.value.trim() !== '').map((z) => ({ zone: z.zone.id, typed: typedOf(z, this.unit()), area_sqft: areaOf(z) || 0, ...(areaTyped(z) ? { area: areaTyped(z) } : {}) }));
    return {
      visit: this.id, material: this.material?.id ?? '', version: this.material?.version ?? 0, name: this.material?.name ?? elements.name.value.trim(),
      reg_no: part('reg').hidden ? '' : elements.reg_no.value.trim(), unit: this.unit(), zones, start: moment(elements.day.value, elements.start.value), end: moment(elements.day.value, elements.end.value),
      items, step: this.first?.step ?? this.step?.id ?? '', corrects: this.first ? this.first.corrects || this.first.id : '', reason: this.first ? elements.reason.value.trim() : '',
    };
  }

  /** The same with what is reckoned from it. */
  record(body) {
    const zones = body.zones.map((z) => ({ ...z, amount: amount(this.work.book, body.unit, z.typed) }));
    return { ...body, id: '', author: this.view.known.me?.id ?? '', zones, property: this.visit.property, day: dayWhere(body.start) || this.form.elements.day.value, at: localTime(Date.now(), -new Date().getTimezoneOffset()) };
  }

  changed() {
    const chosen = this.form.querySelector('input[name=material]:checked')?.value ?? '';
    if (chosen === this.shownFor && chosen !== '') this.folded(true);
    if (chosen !== this.shownFor || (chosen === 'other' && this.drawnUnit !== this.unit())) this.choose();
    this.refresh();
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.keepDraft(), 250);
  }

  keepDraft() {
    clearTimeout(this.timer);
    this.timer = 0;
    if (this.kept) return undefined;
    const form = { ...this.gather(), reg_no: this.form.elements.reg_no.value, day: this.form.elements.day.value };
    form.zones = [...this.zones.values()].map((z) => ({ zone: z.zone.id, stood: [z.amount.value, z.unit.value, z.area.value] }));
    form.start ||= `T${this.form.elements.start.value}`;
    form.end ||= `T${this.form.elements.end.value}`;
    const draft = { visit: this.id, zone: '', check: 'application', text: '', about: this.first ? `correct ${this.first.id}` : this.step?.id ?? '', form };
    return this.page.db.keep(['drafts'], (tx) => tx.put('drafts', draft, this.key)).catch(() => {});
  }

  refresh() {
    for (const z of this.zones.values()) zoneSays(z, { say: this.page.say, unit: this.unit(), limit: this.material?.limits?.once });
    for (const f of this.items.values()) this.problems(f);
    this.lengths();
    const body = this.gather();
    const record = this.record(body);
    this.arrange(record);
    this.total(record);
    this.state(record);
  }

  problems({ box, check, ctl }) {
    const typed = String(ctl.typed).trim();
    const { problems } = typed === '' ? { problems: [] } : [...typed].length > ITEM ? { problems: [{ code: 'too_long', params: { high: ITEM } }] } : read(check, typed);
    const host = part('problem', box), sure = problems.length > 0 && problems.every((p) => p.ask);
    show(host, problems.map((p) => el('span', {}, this.page.say(`problem.${p.code}`, p.params ?? {}))));
    host.classList.toggle('ask', sure);
    mark([ctl.input], host, problems.length > 0 && !sure);
  }

  /** Texts that are longer than the office takes are said at their place. */
  lengths() {
    for (const [name, host] of this.hosts) {
      const input = this.form.elements[name], high = LONGEST[name], long = !input.closest('[hidden]') && [...input.value.trim()].length > high;
      show(host, long ? this.page.say('problem.too_long', { high }) : null);
      mark([input], host, long);
    }
  }

  total(record) {
    const host = part('total');
    if (!host) return;
    const { say } = this.page;
    const sum = record.zones.reduce((n, z) => n + z.amount, 0);
    const area = record.zones.reduce((n, z) => n + z.area_sqft, 0);
    host.textContent = sum > 0 ? say('apply.total', { total: amountSays(sum, record.unit, this.view.metric), area: say(this.view.metric ? 'area.metric' : 'area.us', { n: Number(areaText(area, this.view.metric)).toLocaleString() }) }) : say('apply.total_none');
  }

  state(record) {
    const { say, lang } = this.page;
    if (!this.ready()) {
      show(part('state'), el('p', { class: 'soft' }, say('apply.need_zone')));
      show(part('keep'), el('button', { type: 'button', class: 'btn go', disabled: true }, say('apply.keep')));
      return;
    }
    const gone = this.work.missing(record);
    const flags = this.work.flags(record);
    const short = this.work.shorter(record);
    show(part('state'),
      short.length > 0 ? el('p', { class: 'note', 'data-shorter': true }, say('apply.shorter', { rules: [...new Set(short.map((r) => r.spot.rule))].join(', '), sqft: areaText(short[0].spot.most_sqft, this.view.metric), unit: unitWords(this.view.metric ? 'm2' : 'ft2') })) : null,
      flags.length > 0 ? el('div', { class: 'note stop', 'data-flags': true }, el('h2', {}, say('apply.flags')), el('ul', {}, flags.map((f) => el('li', {}, flagSays(say, f, this.view)))), el('p', {}, say('apply.flags_say'))) : null,
      gone.length > 0 ? el('div', { class: 'note', 'data-missing': true }, el('h2', {}, say('apply.missing')), el('ul', {}, this.work.itemNames(gone, say, lang).map((t) => el('li', {}, t))), el('p', {}, say('apply.missing_say')))
        : el('p', { class: 'note done' }, say('apply.complete')));
    show(part('keep'), el('button', { type: 'button', class: 'btn go', 'data-do-keep': true, onclick: () => this.keep() }, gone.length > 0 ? say('apply.keep_missing', { n: gone.length }) : say('apply.keep')));
  }

  ready() {
    return (this.material || this.form.elements.name.value.trim() !== '') && [...this.zones.values()].some((z) => z.amount.value.trim() !== '');
  }

  askWithdraw() {
    const { say } = this.page;
    show(part('top'), el('div', { class: 'note' }, el('h2', {}, say('apply.withdraw_ask')), el('div', { class: 'acts' },
      el('button', { type: 'button', class: 'btn stop', 'data-sure': true, onclick: () => this.keep(true) }, say('apply.withdraw_do')),
      el('button', { type: 'button', class: 'btn', onclick: () => this.top() }, say('visit.not_yet')))));
  }

  async keep(withdrawn = false) {
    const { say } = this.page;
    const long = [...this.form.querySelectorAll('[aria-invalid]')].find((i) => i.value.length > 60 && i.checkVisibility());
    if (long) return long.focus(); // its place says so; the office would set the whole record aside
    if (this.kept) return;
    this.kept = true;
    clearTimeout(this.timer);
    try {
      const body = { ...this.gather(), ...(withdrawn ? { withdrawn: true } : {}) };
      const row = await this.page.record('application', body, [], { draft: this.key });
      this.done(body, row, withdrawn);
    } catch (err) {
      this.kept = null;
      part('said').textContent = say('kept.not', { why: say('kept.phone', { why: err?.message ?? '' }) });
    }
  }

  /** What was kept, what is still missing, and what the client must hear. */
  done(body, row, withdrawn) {
    const { say, lang } = this.page;
    const time = clockTime(row.saved);
    const record = this.record(body);
    const gone = withdrawn ? [] : this.work.missing(record);
    const text = withdrawn ? say('apply.withdrawn', { time }) : gone.length > 0 ? say('apply.kept_missing', { time, what: this.work.itemNames(gone, say, lang).join(', ') }) : say('apply.kept', { time });
    const limits = this.material?.limits ?? {};
    const off = limits.reentry_hours > 0 || limits.reentry_say ? [{ zones: body.zones.map((z) => z.zone), name: body.name, say: limits.reentry_say ?? '', until: limits.reentry_hours > 0 ? Date.parse(body.end || body.start || record.at) + limits.reentry_hours * 3600_000 : 0 }] : [];
    this.form.hidden = true;
    show(part('top'));
    show(part('state'), el('p', { class: 'note done', 'data-kept-record': true }, text),
      !withdrawn && off.length > 0 ? el('div', { class: 'note' }, el('h2', {}, say('apply.off')), offSays(say, off, this.view, (t) => when(t, Date.now())).map((t) => el('p', {}, t))) : null);
    show(part('keep'), el('a', { class: 'btn go', href: `/field/visit?visit=${encodeURIComponent(this.id)}` }, say('apply.to_visit')),
      el('a', { class: 'btn', href: `/field/apply?visit=${encodeURIComponent(this.id)}` }, say('apply.again')));
    scrollTo(0, 0);
  }
}

let shown = null;
boot('apply', {
  form: true,
  draw: async (page, view) => {
    if (shown) return;
    const gone = (text) => show(part('top'), el('p', { class: 'empty' }, text), el('a', { class: 'btn', href: '/field/' }, page.say('field.to_day')));
    if (!view.visits.has(page.query.get('visit'))) return gone(page.say('apply.gone'));
    if (!view.body.record) return gone(page.say('apply.no_book'));
    shown = new ApplyPage(page, view);
    await shown.start();
  },
});

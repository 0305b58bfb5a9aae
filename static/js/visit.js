// One visit: what to be careful about before it starts, its zones, and handing it in.

import { boot } from './shell.js';
import { banner, drawing, el, part, show } from './dom.js';
import { counted, short } from './words.js';
import { siteCautions } from './cautions.js';
import { Adding } from './adding.js';
import { areaText } from './area.js';
import { weigherOf } from './weigher.js';
import { standing, thinnest } from './guide.js';
import { WorkList } from './worklist.js';
import { lawn } from './lawn.js';

const OPEN = new Set(['under way', 'sent back', 'handed in']);

class VisitPage {
  constructor(page, view) {
    this.page = page;
    this.view = view;
    this.id = page.query.get('visit') ?? '';
    this.asking = false;
    this.bind();
  }

  bind() {
    this.adding = new Adding(this.page, this.id, async () => this.draw(await this.page.look()));
  }

  /** Redraws from what the phone knows now. What is half typed in the zone form stays. */
  draw(view) {
    const { say } = this.page;
    this.view = view;
    this.visit = view.visits.get(this.id);
    if (!this.visit) return show(this.page.part('about'), el('p', { class: 'empty' }, say('visit.gone')), el('a', { class: 'btn', href: '/field/' }, say('field.to_day')));
    Object.assign(this.adding, { metric: view.metric, property: this.visit.property });
    this.page.part('add').elements.area.placeholder = say(view.metric ? 'units.m2' : 'units.ft2');
    const { property, client } = view.place(this.visit);
    this.page.part('title').textContent = property?.address ?? say('visit.unknown');
    this.page.part('sub').textContent = [client?.name, say(`state.${this.visit.state}`)].filter(Boolean).join(' · ');
    this.about();
    this.cautions(property);
    const open = OPEN.has(this.visit.state);
    this.zones(open || this.visit.state === 'signed off', this.weighed ?? []);
    this.judge(view, open);
    new WorkList(this.page, view).draw(this.visit, open || this.visit.state === 'signed off');
    this.page.part('add').hidden = !open;
    this.hand(open);
  }

  about() {
    const { say } = this.page;
    const { ask, state, sent_why: why } = this.visit;
    show(this.page.part('about'), ask ? el('p', { class: 'quote' }, `“${ask}”`) : null,
      state === 'sent back' ? el('div', { class: 'note' }, el('p', {}, say('visit.sent_back', { why: why || '–' }))) : null,
      state === 'handed in' ? el('p', { class: 'note done' }, say('visit.handed_in')) : null,
      state === 'signed off' ? el('p', { class: 'note done' }, say('visit.signed_off')) : null);
  }

  /** Read before the visit starts; folded away once it has. */
  cautions(property) {
    const { say, lang } = this.page;
    const list = siteCautions(property, this.view.known.knowledge?.body, lang);
    const before = this.visit.state === 'planned';
    const lines = el('ul', {}, list.map((t) => el('li', {}, t)));
    if (!before) {
      if (!this.page.part('cautions').querySelector('details')) show(this.page.part('cautions'), el('details', { class: 'how' }, el('summary', {}, say('visit.cautions')), lines));
      this.page.part('side').replaceChildren();
      return;
    }
    show(this.page.part('cautions'), el('div', { class: 'note' }, el('h2', {}, say('visit.before')), list.length > 0 ? lines : el('p', {}, say('visit.no_cautions'))));
    this.page.part('side').replaceChildren(el('button', { type: 'button', class: 'btn go big', onclick: () => this.start() }, say('visit.start')));
  }

  start() {
    return this.move('under way');
  }

  /** Records a step of the visit. */
  async move(state) {
    try {
      await this.page.record('visit', { visit: this.id, state }, [], { op: 'edit', entity: this.id });
    } catch (err) {
      return banner('step', this.page.say('kept.not', { why: this.page.say('kept.phone', { why: err?.message ?? '' }) }));
    }
    banner('step');
    this.draw(await this.page.look());
  }

  zones(visible, weighed) {
    const { say } = this.page;
    const zones = this.view.zonesOf(this.visit.property);
    if (!visible) return show(this.page.part('zones'));
    show(this.page.part('zones'), el('h2', {}, say('visit.zones')), lawn(say, zones, (id) => this.view.current(this.id, id).size > 0),
      zones.length > 0 ? el('ol', { class: 'rows' }, zones.map((z) => this.zoneRow(z, weighed.find((w) => w.zone === z.id)))) : el('p', { class: 'empty' }, say('visit.no_zones')));
  }

  /** What the phone makes of the zones stands beside them as soon as it is known; what was asked last shows. */
  async judge(view, open) {
    const weighed = await this.weigh();
    if (this.view !== view) return;
    this.weighed = weighed;
    const shared = await this.shared(weighed);
    if (this.view !== view) return;
    if (weighed.length > 0) this.zones(open || this.visit.state === 'signed off', weighed);
    show(this.page.part('shared'), shared, open ? this.thin(weighed) : null);
  }

  /** What the phone makes of each zone. Before anything was looked at there is nothing to weigh. */
  async weigh() {
    const knowledge = this.view.known.knowledge;
    if (!knowledge || !this.view.zonesOf(this.visit.property).some((z) => this.view.current(this.id, z.id).size > 0)) return [];
    this.weigher = weigherOf(this.page, knowledge);
    return this.weigher.zones(this.view, this.visit);
  }

  /** Where a further look pays most. */
  thin(weighed) {
    const thin = thinnest(weighed);
    if (!thin) return null;
    const name = this.view.zones.get(thin.zone)?.name ?? '';
    return el('p', { class: 'note', 'data-thin': thin.zone }, this.page.say('visit.thinnest', { zone: name, what: this.weigher.words.checksNamed(thin.missing) }));
  }

  /** What is likely in several zones that share what brings it: said once, above the zones. */
  async shared(weighed) {
    if (!this.weigher) return null;
    const once = (await this.weigher.property(this.view, this.visit, weighed)).filter((c) => c.once);
    if (once.length === 0) return null;
    const name = (/** @type {string} */ id) => this.view.zones.get(id)?.name ?? '';
    return el('div', { class: 'note' }, el('h2', {}, this.page.say('property.title')), el('ul', {}, once.map((c) =>
      el('li', {}, this.page.say('property.say', { cause: this.weigher.words.cause(c.id), zones: c.zones.map(name).join(', ') })))));
  }

  zoneRow(zone, weighed) {
    const { say } = this.page;
    const done = this.view.current(this.id, zone.id).size;
    const enough = done > 0 && weighed && standing(weighed.answer).enough;
    const state = enough ? say('visit.enough') : done > 0 ? counted(say, 'visit.checks', done) : say('visit.not_looked');
    const href = `/field/zone?visit=${encodeURIComponent(this.id)}&zone=${encodeURIComponent(zone.id)}`;
    return el('li', {}, el('a', { class: 'row-link', href },
      el('span', { class: 'row-text' }, el('b', {}, zone.name), zone.area_sqft ? el('span', { class: 'soft' }, say(this.view.metric ? 'area.metric' : 'area.us', { n: Number(areaText(zone.area_sqft, this.view.metric)).toLocaleString() })) : null),
      el('span', { class: `tag ${done > 0 ? 'done' : ''}` }, state)));
  }

  /** What is missing, then the button. Nothing missing holds anybody back. */
  async hand(open) {
    const { say } = this.page;
    if (!open || this.visit.state === 'handed in') return show(this.page.part('hand'));
    const missing = await this.missing();
    const acts = el('div', { class: 'acts' }, el('button', { type: 'button', class: 'btn go', onclick: () => this.handIn(missing) }, drawing('hand'), say('visit.hand_in')));
    if (!this.asking) return show(this.page.part('hand'), acts);
    show(this.page.part('hand'), el('h2', {}, say('visit.hand_in_ask')),
      missing.length > 0 ? el('ul', {}, missing.map((m) => el('li', {}, m))) : el('p', {}, say('visit.nothing_missing')),
      el('div', { class: 'acts' }, el('button', { type: 'button', class: 'btn go', 'data-sure': true, onclick: () => this.move('handed in') }, say('visit.hand_in_do')),
        el('button', { type: 'button', class: 'btn', onclick: () => { this.asking = false; this.hand(true); } }, say('visit.not_yet'))));
  }

  async handIn() {
    this.asking = true;
    await this.hand(true);
    this.page.part('sure').focus();
  }

  async missing() {
    const { say, db } = this.page;
    const zones = this.view.zonesOf(this.visit.property);
    const out = zones.filter((z) => this.view.current(this.id, z.id).size === 0).map((z) => say('missing.zone', { name: z.name }));
    if (zones.length === 0) out.push(say('missing.zones'));
    const drafts = (await db.read(['drafts'], (tx) => tx.all('drafts'))).filter((d) => d.visit === this.id);
    for (const d of drafts) {
      if (d.check === 'application') out.push(say('apply.draft'));
      else if (d.check === 'zone') out.push(say('missing.zone_begun', { name: short(d.text || d.form.area) }));
      else out.push(say('missing.draft', { zone: this.view.zones.get(d.zone)?.name ?? '', text: short(d.text) }));
    }
    return out;
  }
}

boot('visit', {
  draw: async (page, view) => {
    page.shown ??= new VisitPage(page, view);
    await page.shown.adding.ready;
    page.shown.draw(view);
  },
});

// What is planned and what was put down on one visit, and what keeps people off just now.

import { el, show } from './dom.js';
import { Work, amountSays, goodsOf, offSays, rateSays } from './work.js';
import { clockTime, when } from './words.js';

export class WorkList {
  /** @param {import('./shell.js').Page} page @param {import('./view.js').View} view */
  constructor(page, view) {
    Object.assign(this, { page, view, work: new Work(view) });
  }

  /** @param {any} visit @param {boolean} open */
  draw(visit, open) {
    const { say } = this.page;
    if (!this.work.known) return;
    const off = offSays(say, this.work.running(visit.property, Date.now()), this.view, (t) => when(t, Date.now()));
    show(this.page.part('off'), off.length > 0 ? el('div', { class: 'note stop' }, off.map((t) => el('p', {}, t))) : null);
    const steps = this.work.stepsOf(visit.id);
    const records = this.work.ofVisit(visit.id);
    const record = el('a', { class: 'btn', href: this.href(visit) }, say('visit.record'));
    if (steps.length > 0) this.page.part('zones').before(this.page.part('work'));
    show(this.page.part('work'), el('h2', {}, say('visit.work')),
      steps.length > 0 ? el('h3', {}, say('visit.work_planned')) : null,
      steps.length > 0 ? el('ul', { class: 'rows' }, steps.map((s) => this.stepRow(visit, s, open))) : null,
      records.length > 0 ? el('ul', { class: 'rows' }, records.map((a) => this.recordRow(visit, a))) : steps.length === 0 ? el('p', { class: 'empty' }, say('visit.no_work')) : null,
      open ? record : null, this.sums(visit));
  }

  /** What each zone got this year, as the office adds it up. */
  sums(visit) {
    const { say } = this.page;
    const { metric } = this.work;
    const list = [...this.work.totals(visit.property, visit.day.slice(0, 4))].map(([zone, sum]) => {
      const lines = [['N', sum.n], ['P₂O₅', sum.p2o5], ['K₂O', sum.k2o]].filter(([, x]) => x > 0).map(([name, x]) => `${name} ${rateSays(say, x, 'lb/1000 ft2', metric)}`);
      lines.push(...Object.entries(sum.active).sort(([a], [b]) => (a < b ? -1 : 1)).map(([name, x]) => `${name} ${rateSays(say, x, 'lb/acre', metric)}`));
      return lines.length > 0 ? el('li', {}, el('b', {}, this.view.zones.get(zone)?.name ?? ''), lines.map((t) => el('div', { class: 'soft' }, t))) : null;
    }).filter(Boolean);
    return list.length > 0 ? el('details', { class: 'how', 'data-sums': true }, el('summary', {}, say('visit.sums', { year: visit.day.slice(0, 4) })), el('ul', {}, list)) : null;
  }

  href(visit, more = '') {
    return `/field/apply?visit=${encodeURIComponent(visit.id)}${more}`;
  }

  stepRow(visit, step, open) {
    const { say, lang } = this.page;
    const done = this.work.done(step);
    const text = step.step?.do ?? {};
    const goods = goodsOf(step).map((g) => [g.name, g.total ? amountSays(g.total.value, g.total.unit, this.work.metric) : ''].filter(Boolean).join(': ')).filter(Boolean);
    const inner = [el('span', { class: 'row-text' }, el('b', {}, goods.join(' · ') || (lang === 'es' && text.es) || text.en), goods.length > 0 ? el('span', { class: 'soft' }, (lang === 'es' && text.es) || text.en) : null),
      el('span', { class: `tag ${done ? 'done' : 'now'}` }, say(done ? 'visit.work_done' : 'visit.work_todo'))];
    const link = goods.length > 0 && open;
    return el('li', {}, link ? el('a', { class: `row-link ${done ? 'done' : ''}`, href: this.href(visit, `&step=${encodeURIComponent(step.id)}`) }, inner) : el('div', { class: 'row-link done' }, inner));
  }

  recordRow(visit, a) {
    const { say, lang } = this.page;
    const zones = a.zones.map((z) => this.view.zones.get(z.zone)?.name ?? '').filter(Boolean).join(', ');
    const total = a.zones.reduce((n, z) => n + z.amount, 0);
    const gone = this.work.missing(a);
    const at = Date.parse(a.start || a.at);
    return el('li', {}, el('a', { class: 'row-link', href: this.href(visit, `&corrects=${encodeURIComponent(a.id)}`) },
      el('span', { class: 'row-text' }, el('b', {}, a.name), el('span', { class: 'soft' }, [say('visit.work_total', { total: amountSays(total, a.unit, this.work.metric), zones }), clockTime(at)].join(' · ')),
        gone.length > 0 ? el('span', { class: 'problem-text' }, say('visit.work_missing', { what: this.work.itemNames(gone, say, lang).join(', ') })) : null),
      el('span', { class: `tag ${gone.length > 0 ? 'ask' : 'done'}` }, gone.length > 0 ? say('apply.missing') : say('visit.work_done'))));
  }
}

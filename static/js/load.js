// What goes onto the truck: materials with their amounts, tools, and what each stop takes. It works without signal.

import { boot } from './shell.js';
import { el, part, show } from './dom.js';
import { Work, amountSays, goodsOf, loads } from './work.js';
import { dayName, dayOf, textIn } from './words.js';

const once = (list) => [...new Set(list.filter(Boolean))];

function tools(work, steps, lang) {
  const of = (t) => (lang === 'es' && t.es) || t.en;
  return once(steps.flatMap((s) => [...(s.step?.tools ?? []).map(of), ...goodsOf(s).flatMap((g) => work.toolNames(work.offered().find((m) => m.id === g.material), lang))]));
}

function day(page, view, work, visits) {
  const { say, lang } = page;
  const steps = visits.flatMap((v) => work.stepsOf(v.id).filter((s) => !work.done(s)));
  if (steps.length === 0) return el('p', { class: 'empty' }, say('load.none'));
  const gear = tools(work, steps, lang);
  return [el('h3', {}, say('load.materials')), el('ul', { class: 'rows' }, loads(steps, lang).map((l) => el('li', { class: 'item load' },
    el('span', { class: 'row-text' }, el('b', {}, l.name), l.lacking ? el('span', { class: 'problem-text' }, l.lacking) : null, l.label?.re_entry ? el('span', { class: 'soft' }, say('load.stock', { say: l.label.re_entry })) : null),
    el('b', { class: 'num' }, l.unit ? amountSays(l.total, l.unit, work.metric) : '–')))),
  gear.length > 0 ? el('h3', {}, say('load.tools')) : null, gear.length > 0 ? el('ul', {}, gear.map((t) => el('li', {}, t))) : null,
  el('h3', {}, say('load.stops')), el('ol', { class: 'rows' }, visits.filter((v) => work.stepsOf(v.id).length > 0).map((v) => stop(page, view, work, v)))];
}

function stop(page, view, work, visit) {
  const { lang, say } = page;
  const { property } = view.place(visit);
  return el('li', {}, el('a', { class: 'row-link', href: `/field/visit?visit=${encodeURIComponent(visit.id)}` }, el('span', { class: 'row-text' }, el('b', {}, property?.address ?? ''),
    work.stepsOf(visit.id).flatMap((s) => {
      const goods = goodsOf(s);
      if (goods.length === 0) return [el('span', { class: 'soft' }, (lang === 'es' && s.step?.do?.es) || s.step?.do?.en || '')];
      return goods.map((g) => el('span', { class: 'soft' }, `${g.name || textIn(g.says, lang)}: ${g.zones.filter((z) => z.amount).map((z) => `${z.name} ${amountSays(z.amount.value, z.amount.unit, work.metric)}`).join(', ')}${work.done(s) ? ` · ${say('load.done')}` : ''}`));
    }))));
}

boot('load', {
  draw: (page, view) => {
    const { say } = page;
    const work = new Work(view);
    const title = (d) => (d === dayOf(Date.now()) ? say('day.today', { day: dayName(d) }) : dayName(d));
    const days = [...view.sheet()].filter(([d]) => d !== '');
    show(part('list'), days.map(([d, visits]) => el('section', {}, el('h2', {}, title(d)), day(page, view, work, visits))));
  },
});

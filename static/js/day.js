// The day sheet: today's and tomorrow's visits in order, and how fresh they are.

import { boot, redraw, speak } from './shell.js';
import { remember, walked } from './walkthrough.js';
import { drawing, el, part, show } from './dom.js';
import { LANGS, counted, dayName, dayOf, when } from './words.js';

const DAY = 24 * 3600_000;

/** @param {import('./words.js').Say} say @param {string} day @param {number} now */
function dayTitle(say, day, now) {
  if (day === '') return say('day.earlier');
  if (day === dayOf(now)) return say('day.today', { day: dayName(day) });
  if (day === dayOf(now + DAY)) return say('day.tomorrow', { day: dayName(day) });
  return dayName(day);
}

function visitRow(page, view, visit) {
  const { property, client } = view.place(visit);
  const zones = view.zonesOf(visit.property);
  const state = page.say(`state.${visit.state}`);
  const goods = (view.body.steps ?? []).filter((s) => s.visit === visit.id && s.state !== 'dropped').flatMap((s) => s.step?.goods ?? []).map((g) => g.name).filter(Boolean);
  const lines = [client?.name, counted(page.say, 'day.zones', zones.length)].filter(Boolean).join(' · ');
  return el('li', {}, el('a', { class: `row-link ${visit.state === 'handed in' || visit.state === 'signed off' ? 'done' : ''}`, href: `/field/visit?visit=${encodeURIComponent(visit.id)}` },
    el('span', { class: 'row-text' }, el('b', {}, property?.address ?? page.say('visit.unknown')), el('span', { class: 'soft' }, lines), visit.ask ? el('span', { class: 'quote' }, `“${visit.ask}”`) : null,
      goods.length > 0 ? el('span', {}, page.say('day.put_down', { what: goods.join(', ') })) : null),
    el('span', { class: `tag ${tagOf(visit.state)}` }, state)));
}

const tagOf = (state) => ({ 'sent back': 'ask', 'under way': 'now', 'handed in': 'done', 'signed off': 'done' })[state] ?? '';

/** Who has gone through it may see the walk-through of a zone's form again. */
function again(page, view) {
  const { say } = page;
  if (!walked(view.known)) return page.walkAgain ? el('p', { class: 'note', 'data-walk-said': true, role: 'status', tabindex: -1 }, say('walkthrough.again_said')) : null;
  return el('button', { type: 'button', class: 'btn plain', 'data-walk-again': true, onclick: async () => {
    await remember(page.db, view.known.me.id, false);
    page.walkAgain = true;
    await redraw(page, await page.look());
    part('walk-said')?.focus();
  } }, say('walkthrough.again'));
}

function draw(page, view) {
  const { say } = page;
  const now = Date.now();
  const { packet, me, sync, checked, unknowing } = view.known;
  part('sub').textContent = [me?.name, packet ? say('day.fresh', { time: when(checked ?? packet.checked, now) }) : ''].filter(Boolean).join(' · ');
  if (!packet) return show(part('list'), el('p', { class: 'empty' }, say(sync?.result === 'ok' ? 'day.none_yet' : 'day.no_signal')));
  const days = [...view.sheet()].map(([day, visits]) => el('section', {},
    el('h2', {}, dayTitle(say, day, now)),
    visits.length > 0 ? el('ol', { class: 'rows' }, visits.map((v) => visitRow(page, view, v))) : el('p', { class: 'empty' }, say('day.empty'))));
  const load = (body) => (body.steps ?? []).length > 0 ? el('a', { class: 'btn', href: '/field/load' }, say('load.open')) : null;
  const other = LANGS.find((l) => l !== page.lang);
  show(part('list'), unknowing ? el('p', { class: 'note', 'data-no-checks': true }, say('day.no_checks')) : null, load(view.body), days, view.body.record ? el('a', { class: 'btn plain', href: '/field/calibrate' }, say('calibrate.open')) : null,
    el('button', { type: 'button', class: 'btn plain', lang: other, 'data-speak': other, onclick: () => speak(page, me, other) }, say('day.speak')), again(page, view));
  show(part('side'), me?.role !== 'crew' ? el('a', { class: 'btn', href: '/desk/' }, drawing('desk'), say('day.desk')) : null);
}

boot('day', { draw, knowledge: false });

// One zone: the form from the catalogue, what it may be so far, and the next best check. All of it works without signal.

import { boot } from './shell.js';
import { breathe, drawing, el, part, show, svg } from './dom.js';
import { Form } from './form.js';
import { Photos } from './photos.js';
import { weigherOf } from './weigher.js';
import { standing } from './guide.js';
import { bindAids } from './aids.js';
import { bindHows } from './how.js';
import { spoken } from './view.js';
import { walked, walkthrough } from './walkthrough.js';
import { counted, dayName } from './words.js';

class ZonePage {
  /** The form with its controls in hand, of no zone yet: made before the zone is known, it opens at once. */
  constructor(page, view) {
    const weigher = weigherOf(page, view.known.knowledge);
    const { checks, words } = weigher;
    const { metric, known: { knowledge: { edition, body: know } } } = view;
    Object.assign(this, { page, weigher, checks, words, metric, visit: '', zone: '' });
    this.form = new Form(page, { checks, edition, metric, changed: () => this.soon() });
    this.photos = new Photos(page, { checks, edition, before: () => this.form.flush(), changed: () => this.soon() });
    bindHows(page.part('form'), checks, page);
    bindAids(page, { form: this.form, know, day: () => this.seen.visits.get(this.visit)?.day ?? '', rain: () => this.seen.body.rain ?? [] });
    page.part('form').addEventListener('submit', (e) => e.preventDefault());
  }

  /** Whether the form is still what the phone knows and how its person reads. */
  fits(view) {
    return this.weigher.knowledge === view.known.knowledge && this.metric === view.metric;
  }

  /** Becomes the form of a zone: all that was answered stands in it, and it takes answers. */
  fill(view) {
    const { query } = this.page;
    this.visit = query.get('visit') ?? '';
    this.zone = query.get('zone') ?? '';
    this.seen = view;
    this.head(view);
    this.earlier(view);
    this.form.restore(view, this.visit, this.zone);
    this.photos.restore(view, this.visit, this.zone);
    this.after(view);
    this.room();
    if (!walked(view.known)) this.page.part('sofar').after(walkthrough(this.page, view.known.me.id));
    Object.assign(this.page.part('form'), { inert: false, hidden: false });
  }

  /** What follows from the answers; it takes longer, and nobody waits for it. */
  async draw(view) {
    if (this.drawn) return this.heard(view);
    this.drawn = true;
    await breathe();
    await Promise.all([this.photos.draw(view), this.redraw(this.seen)]);
    return this.weigher.warm(view.visits.get(this.visit));
  }

  head(view) {
    const { property } = view.place(view.visits.get(this.visit));
    const zones = view.zonesOf(property?.id);
    const at = zones.findIndex((z) => z.id === this.zone);
    this.page.part('title').textContent = zones[at]?.name ?? this.page.say('zone.title');
    this.page.part('sub').textContent = [property?.address, this.page.say('zone.of', { n: at + 1, all: zones.length })].filter(Boolean).join(' · ');
    this.page.part('back').href = `/field/visit?visit=${encodeURIComponent(this.visit)}`;
  }

  /** The last visit's answer beside each check. */
  earlier(view) {
    for (const check of this.checks.values()) {
      const host = this.page.root.querySelector(`#${CSS.escape(`check-${check.id}`)} [data-before]`);
      const was = host ? view.before(this.visit, this.zone, check.id) : null;
      const text = was ? spoken(check, was.reading.typed, this.page.lang) : '';
      if (host) show(host, text ? this.page.say('zone.before', { day: dayName(was.day), text }) : null);
    }
  }

  /** Room for what it may be so far, about as tall as that will be, so that nothing moves under a thumb when it comes. */
  room() {
    const fresh = this.seen.current(this.visit, this.zone).size === 0;
    const host = this.page.part('sofar');
    host.classList.add(fresh ? 'fresh' : 'waiting');
    show(host, el('h2', {}, this.page.say('zone.so_far')), this.lastTime(), fresh ? el('p', { class: 'soft' }, this.page.say('sofar.nothing')) : null);
  }

  /** After the last check: the next zone, or back to the visit. */
  after(view) {
    const visit = view.visits.get(this.visit);
    const zones = view.zonesOf(visit?.property);
    const next = zones[zones.findIndex((z) => z.id === this.zone) + 1];
    const link = (href, text, more) => el('a', { class: `btn ${more}`, href }, text);
    show(this.page.part('after'), next ? link(`/field/zone?visit=${encodeURIComponent(this.visit)}&zone=${encodeURIComponent(next.id)}`, this.page.say('zone.next', { name: next.name }), 'go') : null,
      link(`/field/visit?visit=${encodeURIComponent(this.visit)}`, this.page.say('zone.to_visit'), next ? '' : 'go'));
  }

  /** Before another page shows in this document: all that was given is on the disk, or its trouble is in view. @returns {Promise<boolean>} */
  async leave() {
    clearTimeout(this.timer);
    await Promise.all([this.form.settled(), this.photos.settled()]);
    const trouble = this.form.trouble() ?? this.photos.failing;
    const fresh = trouble && trouble !== this.shownTrouble;
    this.shownTrouble = trouble;
    if (fresh) this.go(trouble);
    else this.photos.letGo();
    return !fresh; // who has seen it and goes all the same may go
  }

  /** After a sync: what the office has, and what others recorded here meanwhile. */
  heard(view) {
    this.form.confirm(view);
    this.redraw(view);
  }

  soon() {
    clearTimeout(this.timer);
    this.timer = setTimeout(async () => this.redraw(await this.page.look()), 120);
  }

  /** What was asked last is what shows: an answer that comes after another question was asked is let go. */
  async redraw(view) {
    const turn = this.turn = (this.turn ?? 0) + 1;
    this.seen = view;
    this.counts(view.current(this.visit, this.zone));
    const values = this.weigher.values(view, this.visit, this.zone);
    let answer, fault;
    try {
      answer = await this.weigher.weigh(view, view.visits.get(this.visit), this.zone, values);
    } catch (err) {
      fault = err;
    }
    if (turn !== this.turn) return;
    if (fault) this.contradiction(fault);
    else this.weighed(answer, values);
  }

  weighed(answer, values) {
    this.soFar(answer, answer.counted + answer.ignored.length, values);
    this.next(this.words.next(answer));
  }

  /** Findings that can't all be true are said, and nothing else of the page stops. */
  contradiction(err) {
    const names = (err?.findings ?? []).map((id) => this.words.phrase({ finding: id, state: '' })).join(', ');
    show(this.page.part('sofar'), el('h2', {}, this.page.say('zone.so_far')), el('p', {}, this.page.say('sofar.weighing', { what: names })));
    this.next(null);
  }

  counts(now) {
    for (const box of this.page.part('form').querySelectorAll('[data-part]')) {
      const ids = [...box.querySelectorAll('[data-check]')].map((f) => f.dataset.check);
      part('count', box).textContent = this.page.say('zone.count', { n: ids.filter((id) => now.has(id)).length, all: ids.length });
    }
  }

  soFar(answer, seen, values) {
    const { say } = this.page;
    this.page.part('sofar').classList.remove('fresh', 'waiting');
    const title = [el('h2', {}, say('zone.so_far')), this.lastTime()];
    if (seen === 0) return show(this.page.part('sofar'), title, el('p', { class: 'soft' }, say('sofar.nothing')), this.nextButton(this.words.next(answer)));
    const verdict = answer.verdict === 'cause' ? null : el('p', {}, say(`sofar.${answer.verdict}`));
    const causes = answer.verdict === 'nothing_wrong' ? [] : this.words.shown(answer, values).map((c) => this.cause(c));
    show(this.page.part('sofar'), title, verdict, causes, this.standing(answer), this.nextButton(this.words.next(answer)));
  }

  /** Whether the evidence is enough, or what is missing. */
  standing(answer) {
    const { enough, missing } = standing(answer);
    const text = enough ? this.page.say('sofar.enough') : missing.length > 0 ? this.page.say('sofar.missing', { what: this.words.checksNamed(missing) }) : '';
    return text ? el('p', { class: enough ? 'note done' : 'soft', 'data-standing': enough ? 'enough' : 'missing' }, text) : null;
  }

  /** What the office thought after the visit before. */
  lastTime() {
    const last = this.seen.thought(this.visit, this.zone);
    const text = last ? this.words.earlier(last.diagnosis) : '';
    return text ? el('p', { class: 'before', 'data-last': true }, this.page.say('sofar.last', { day: dayName(last.day), text })) : null;
  }

  cause({ label, percent, why }) {
    const bar = svg('svg', { class: 'bar', viewBox: '0 0 100 8', preserveAspectRatio: 'none', 'aria-hidden': 'true', focusable: 'false' },
      svg('rect', { class: 'ground', width: 100, height: 8, rx: 2 }), svg('rect', { class: 'level', width: percent, height: 8, rx: 2 }));
    return el('div', { class: 'cause' }, el('b', {}, label), el('span', { class: 'num' }, this.page.say('sofar.percent', { n: percent })), bar, el('small', {}, why));
  }

  nextButton(next) {
    if (!next) return null;
    return el('button', { type: 'button', class: 'next', onclick: () => this.go(next.check) },
      el('span', {}, el('b', {}, this.page.say('next.do', { check: next.label })), el('span', {}, next.what)),
      el('span', { class: 'minutes' }, counted(this.page.say, 'next.minutes', next.minutes)));
  }

  next(next) {
    show(this.page.part('side'), next ? el('button', { type: 'button', class: 'btn go', 'aria-label': `${this.page.say('next.short')}: ${next.label}`, onclick: () => this.go(next.check) }, drawing('down'), this.page.say('next.short')) : null);
    this.page.part('side').hidden = !next;
  }

  /** Opens the part that holds a check and brings it into view. */
  go(check) {
    const box = document.getElementById(`check-${check}`);
    if (!box) return;
    box.closest('details.part').open = true;
    box.scrollIntoView({ block: 'start', behavior: matchMedia('(prefers-reduced-motion: reduce)').matches ? 'auto' : 'smooth' });
    box.focus({ preventScroll: true });
  }
}

/** A form of no zone yet. @returns {Promise<ZonePage>} */
async function made(page, view) {
  view.known.knowledge.body; // read now, by itself: it takes a cheap phone a while
  await breathe();
  const shown = new ZonePage(page, view);
  await shown.form.bind();
  return shown;
}

/** Why there is no form to show; '' when there is one. */
function lacking({ query }, view) {
  if (!view.visits.has(query.get('visit')) || !view.zones.has(query.get('zone'))) return 'zone.gone';
  return view.known.knowledge ? '' : 'zone.no_checks';
}

boot('zone', {
  form: true,
  leave: async (page) => (page.shown?.zone ? page.shown.leave() : true),
  make: async (page, view) => { page.shown = await made(page, view); },
  fits: (page, view) => page.shown.fits(view),
  fill: (page, view) => { if (!lacking(page, view)) page.shown.fill(view); },
  draw: async (page, view) => {
    const why = page.shown?.zone ? '' : lacking(page, view);
    if (why) return show(page.part('sofar'), el('p', { class: 'empty' }, page.say(why)), el('a', { class: 'btn', href: '/field/' }, page.say('field.to_day')));
    page.shown ??= await (page.making ??= made(page, view)); // what comes meanwhile waits for the same one
    if (!page.shown.zone) page.shown.fill(view);
    return page.shown.draw(view);
  },
});

// The form of one zone. Every answer is kept as it is given; the state of each stands at its control. Text that can't be
// read stays where it was typed and is kept as a draft.

import { control } from './control.js';
import { breathe, el, mark, part, show } from './dom.js';
import { blank } from './view.js';
import { clockTime, textIn } from './words.js';
import { read } from './read.js';
import { shares, spread } from './spread.js';

const HALF = 300;
const SAID = 3; // sentences at one control; mended, the next ones show

/** A number of a check's own unit in another of its units. @param {any} check @param {string} text @param {string} id '' for its own */
export function inUnit(check, text, id) {
  const unit = check.units.find((u) => u.id === id);
  return unit ? String(Number(((Number(text) - (unit.plus ?? 0)) * unit.div / unit.mul).toPrecision(3))) : text;
}

/** The inputs that a problem speaks of: of several shares those that can't be read by themselves, or all that together are too much. */
function faulty({ check, ctl }) {
  if (!ctl.shares) return [ctl.input ?? ctl.sketch];
  const filled = ctl.shares.filter((i) => i.value.trim() !== '');
  const alone = filled.filter((i) => read(check, `${i.dataset.share} ${i.value.trim()}`).problems.some((p) => !p.ask));
  return alone.length > 0 ? alone : filled;
}

export class Form {
  /**
   * @param {import('./shell.js').Page} page
   * @param {{checks: Map<string, any>, edition: string, metric: boolean, changed: () => void}} about
   */
  constructor(page, { checks, edition, metric, changed }) {
    Object.assign(this, { page, visit: '', zone: '', checks, edition, metric, changed, fields: new Map(), timers: new Map() });
    document.addEventListener('visibilitychange', () => { if (document.visibilityState === 'hidden') this.flush(); }, { signal: page.end.signal });
  }

  /** Takes the controls in hand, part by part. */
  async bind() {
    for (const one of this.page.part('form').querySelectorAll('[data-part]')) {
      for (const box of one.querySelectorAll('fieldset.check')) this.take(box);
      await breathe();
    }
  }

  /** @param {HTMLElement} box */
  take(box) {
    const check = this.checks.get(box.dataset.check);
    const ctl = check ? control(box, check, this.metric) : null;
    if (!ctl) return;
    const field = { box, check, ctl, kept: '', queue: Promise.resolve() };
    this.fields.set(check.id, field);
    box.addEventListener('change', (e) => this.change(field, e.target));
    box.addEventListener('input', () => this.typing(field));
    box.addEventListener('keydown', (e) => this.key(field, e));
    box.addEventListener('click', (e) => this.click(field, e));
  }

  /** Whose form it is from now on: shows what stands, the answers kept and what was half typed when the page went away. */
  restore(view, visit, zone) {
    Object.assign(this, { visit, zone });
    const mine = view.known.drafts.filter((d) => d.visit === this.visit && d.zone === this.zone);
    const now = view.current(this.visit, this.zone);
    for (const field of this.fields.values()) {
      const was = now.get(field.check.id);
      field.kept = was?.typed ?? '';
      if (was) {
        field.ctl.typed = was.typed;
        this.state(field, 'kept', this.page.say('kept.phone_at', { time: clockTime(Date.parse(was.at)) }));
      }
      const draft = mine.find((d) => d.check === field.check.id);
      if (draft) this.draft(field, draft);
      if (was || draft) this.sum(field);
    }
    this.confirm(view);
  }

  /** What the office has received meanwhile is said at its control. */
  confirm(view) {
    this.view = view;
    const { through } = view.known.acked;
    for (const [check, reading] of view.current(this.visit, this.zone)) {
      const field = this.fields.get(check);
      const said = field && part('said', field.box);
      if (said?.classList.contains('kept') && field.kept === reading.typed && (reading.seq > 0 || reading.n <= through)) this.state(field, 'kept', this.page.say('kept.office'));
    }
  }

  draft(field, { text, unit }) {
    field.ctl.half = text;
    if (unit !== undefined && !field.ctl.items?.length) field.ctl.unit = unit;
    field.box.closest('details.part').open = true;
    if (field.ctl.with) this.joins(field, text);
    else this.judge(field, field.ctl.typed);
  }

  key(field, event) {
    if (event.key !== 'Enter' || event.target !== field.ctl.input || field.check.kind === 'note') return;
    event.preventDefault();
    if (field.ctl.add) this.addOne(field);
    else this.answer(field);
  }

  click(field, event) {
    const button = event.target.closest('button');
    if (!button) return;
    if (button.dataset.addOne !== undefined) this.addOne(field);
    if (button.dataset.step !== undefined) this.press(field, () => field.ctl.step(button));
    if (button.dataset.sketch !== undefined) this.press(field, () => field.ctl.put(event));
    if (button.dataset.at !== undefined) this.takeOut(field, Number(button.dataset.at));
  }

  press(field, how) {
    how();
    return this.answer(field);
  }

  change(field, target) {
    if (target === field.ctl.only && target.checked) field.ctl.clear?.();
    if (field.ctl.add && target === field.ctl.input) return this.addOne(field, false);
    return this.answer(field);
  }

  typing(field) {
    if (!field.ctl.input) return;
    clearTimeout(this.timers.get(field));
    this.timers.set(field, setTimeout(() => this.keepDraft(field), HALF));
  }

  /** One more number of a row: it joins when it can be read, else it stays in the input with its problem. */
  addOne(field, stay = true) {
    const text = field.ctl.half.trim();
    if (text === '') {
      if (stay) field.ctl.input.focus();
      return;
    }
    if (!this.joins(field, text)) return this.keepDraft(field);
    field.ctl.add();
    if (stay) field.ctl.input.focus();
    return this.answer(field);
  }

  /** Whether a number can join its row; if not, that is said. */
  joins(field, text) {
    const { ctl, check } = field;
    const other = ctl.otherUnit();
    const { problems } = other ? { problems: [{ code: 'one_unit', params: { unit: textIn(check.units.find((u) => u.id === other).label, this.page.lang) } }] } : read(check, ctl.with(text));
    if (problems.every((p) => p.ask)) return true;
    this.problems(field, problems);
    this.state(field, 'not', this.page.say('kept.draft'));
    return false;
  }

  /** An answer worked out on the phone, as if it had been typed; the control is brought into view. */
  give(check, text) {
    const field = this.fields.get(check);
    if (!field) return undefined;
    field.ctl.typed = text;
    field.box.scrollIntoView({ block: 'nearest' });
    return this.answer(field);
  }

  /** One more number worked out on the phone, in the check's own unit, beside those that stand. @returns {boolean} whether it could join them */
  more(check, text) {
    const field = this.fields.get(check);
    if (!field) return false;
    const { ctl } = field;
    const all = ctl.with(inUnit(field.check, text, ctl.unit));
    const { problems } = read(field.check, all);
    const fits = problems.every((p) => p.ask);
    if (fits) this.give(check, all);
    else {
      this.problems(field, problems);
      field.box.scrollIntoView({ block: 'nearest' });
    }
    return fits;
  }

  /** The numbers that stand at a check, in its own unit. @returns {number[]} */
  numbers(check) {
    const field = this.fields.get(check);
    return field ? read(field.check, field.ctl.typed).value?.numbers ?? [] : [];
  }

  takeOut(field, at) {
    const half = Boolean(field.ctl.with); // it stands in the input then, to be mended; what stands there and can't be read comes first
    if (half && field.ctl.half.trim() !== '') return field.ctl.input.focus();
    field.ctl.takeOut(at);
    if (half) this.keepDraft(field);
    return this.answer(field, half);
  }

  /** Answers of one check are kept one after the other, so the last one given is the last one kept. */
  answer(field, half = false) {
    field.queue = field.queue.then(() => this.keep(field, half));
    return field.queue;
  }

  async keep(field, half) {
    field.failing = false;
    const { check, ctl } = field;
    const typed = ctl.typed;
    this.sum(field);
    if (!this.judge(field, typed)) return this.keepDraft(field);
    const wire = blank(typed) ? '-' : typed;
    if (wire === (blank(field.kept) ? '-' : field.kept)) return half ? undefined : this.dropDraft(field);
    this.state(field, 'going', this.page.say('kept.going'));
    if (!ctl.with) this.unplan(field); // what was typed is the answer itself: no draft of it may be left behind
    try {
      const base = this.view?.base(this.visit, this.zone, check.id) ?? 0;
      const body = { visit: this.visit, zone: this.zone, check: check.id, typed: wire, edition: this.edition };
      const row = await this.page.record('reading', body, [], { base, draft: half ? undefined : this.draftKey(check) });
      field.kept = wire;
      if (this.saysGoing(field)) this.state(field, 'kept', this.page.say(wire === '-' ? 'kept.taken_back' : 'kept.phone_at', { time: clockTime(row.saved) }));
      this.changed();
    } catch (err) {
      this.failed(field, err);
    }
  }

  /** While an answer was on its way to the disk, the next one may have been typed and found unreadable: that stays said. */
  saysGoing(field) {
    return part('said', field.box).classList.contains('going');
  }

  failed(field, err) {
    field.failing = true;
    const { say } = this.page;
    const why = err?.name === 'QuotaExceededError' ? say('kept.full') : say('kept.phone', { why: err?.message ?? '' });
    const retry = el('button', { type: 'button', class: 'btn', onclick: () => this.answer(field) }, say('kept.again'));
    this.state(field, 'not', say('kept.not', { why }), retry, el('a', { class: 'btn', href: '/field/unsent' }, say('unsent.copy')));
  }

  /** Shows what is wrong or doubtful with a text; true when it can be kept. */
  judge(field, typed) {
    if (blank(typed)) {
      this.problems(field, []);
      if (!field.kept || blank(field.kept)) this.state(field, '', '');
      return true;
    }
    const { problems } = read(field.check, typed);
    this.problems(field, problems);
    const fine = problems.every((p) => p.ask);
    if (!fine) this.state(field, 'not', this.page.say('kept.draft'));
    return fine;
  }

  /** @param {any} field @param {any[]} problems */
  problems(field, problems) {
    const { say } = this.page;
    const host = part('problem', field.box);
    const sure = problems.length > 0 && problems.every((p) => p.ask);
    const yes = sure ? el('button', { type: 'button', class: 'btn', onclick: () => this.problems(field, []) }, say('problem.sure')) : null;
    host.classList.toggle('ask', sure);
    show(host);
    mark(field.ctl.shares ?? [field.ctl.input ?? field.ctl.sketch], host, false);
    show(host, problems.slice(0, SAID).map((p) => el('span', {}, this.sentence(field.check, p))), yes);
    if (problems.length > 0) mark(faulty(field), host, Boolean(field.ctl.input) && !sure);
  }

  /** A problem in the person's words: parts of a mix by their names, and too many said of numbers. */
  sentence(check, { code, params = {} }) {
    const [id, ...rest] = check.kind === 'mix' ? String(params.text ?? '').split(' ') : [''];
    const of = id && check.options.find((o) => o.id === id);
    const text = of ? [textIn(of.label, this.page.lang), ...rest].join(' ') : params.text;
    return this.page.say(`problem.${code === 'too_long' && check.kind !== 'note' ? 'too_many' : code}`, { ...params, text });
  }

  /** @param {any} field @param {string} name @param {...any} content */
  state(field, name, ...content) {
    const said = part('said', field.box);
    said.className = `said ${name}`;
    said.replaceChildren(...content.filter(Boolean));
  }

  /** The mean and the spread of repeated numbers, at once. */
  sum(field) {
    const host = part('spread', field.box);
    if (!host) return;
    const { value } = read(field.check, field.ctl.typed);
    if (field.check.kind === 'mix') return show(host, ...shares(field.check, value, this.page.say, this.page.lang));
    show(host, ...spread(field.check, value?.numbers ?? [], this.page.say, this.page.lang));
  }

  draftKey(check) {
    return `${this.visit} ${this.zone} ${check.id}`;
  }

  unplan(field) {
    clearTimeout(this.timers.get(field));
    this.timers.delete(field);
  }

  async keepDraft(field) {
    this.unplan(field);
    const { check, ctl } = field;
    const text = ctl.half ?? '';
    if (text === '' || (!ctl.with && ctl.typed === field.kept)) return this.dropDraft(field);
    const draft = { visit: this.visit, zone: this.zone, check: check.id, text, ...(ctl.units ? { unit: ctl.unit } : {}) };
    await this.page.db.keep(['drafts'], (tx) => tx.put('drafts', draft, this.draftKey(check))).catch((err) => this.failed(field, err));
  }

  dropDraft(field) {
    return this.page.db.keep(['drafts'], (tx) => tx.delete('drafts', this.draftKey(field.check))).catch(() => {});
  }

  /** When every answer given so far is on the disk, or said not to be. */
  async settled() {
    await this.flush();
    await Promise.all([...this.fields.values()].map((field) => field.queue));
  }

  /** The check whose answer could not be kept. @returns {string|undefined} */
  trouble() {
    return [...this.fields.values()].find((field) => field.failing)?.check.id;
  }

  /** Before the page may go away: everything half typed is on the disk. */
  async flush() {
    await Promise.all([...this.timers.keys()].map((field) => this.keepDraft(field)));
  }
}

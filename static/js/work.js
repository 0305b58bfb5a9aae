// What was put down and what is planned, as this phone knows it: the day packet, what others recorded since, and its own
// records. Nothing is changed in place; a correction is a further record.

import { merged } from './view.js';
import { textIn } from './words.js';
import { amount, current, judge, missing, running, shorter, totals } from './record.js';
import { crew, unitWords } from './units.js';

const NONE = { items: [], rules: [], kinds: [], tools: [], units: [], firm: { rules: [], n_once: 0, n_year: 0 } };

/** The record's own day where it began. @param {...string} times */
export function dayWhere(...times) {
  return times.find((t) => /^\d{4}-\d\d-\d\dT/.test(t ?? ''))?.slice(0, 10) ?? '';
}

export class Work {
  /** @param {import('./view.js').View} view */
  constructor(view) {
    const { body } = view;
    this.view = view;
    this.book = body.record ?? NONE;
    this.firm = this.book.firm ?? NONE.firm;
    this.known = Boolean(body.record);
    this.metric = view.metric;
    this.versions = new Map((body.materials ?? []).map((m) => [`${m.id} ${m.version}`, m]));
    this.materialOf = (id, version) => this.versions.get(`${id} ${version}`) ?? null;
    this.steps = body.steps ?? [];
    this.calibrations = [...(body.calibrations ?? [])];
    /** @type {Map<string, any>} */
    this.records = new Map((body.applications ?? []).map((a) => [a.id, a]));
    for (const row of view.known.others) if (!row.aside && row.op?.body) this.take(row.op, row.stamp ?? row.op.hlc);
    for (const row of view.known.rows) this.take(row.op, merged(row.op.hlc, view.known.skew), row);
  }

  take(op, stamp, row) {
    const b = op.body;
    if (op.form === 'calibration' && !this.calibrations.some((c) => c.id === op.id)) this.calibrations.push({ ...b, id: op.id, at: op.at, author: op.author, stamp });
    if (op.form !== 'application' || this.records.has(op.id)) return;
    const zones = (b.zones ?? []).map((z) => ({ ...z, amount: amount(this.book, b.unit, z.typed), area_sqft: Number(z.area_sqft) || 0 }));
    this.records.set(op.id, { ...b, id: op.id, at: op.at, author: op.author, stamp, zones, property: this.view.visits.get(b.visit)?.property ?? '', day: dayWhere(b.start, op.at), n: row?.n ?? 0 });
  }

  /** The newest version of each material that is offered, in the office's order. */
  offered() {
    const newest = new Map();
    for (const m of this.versions.values()) if ((newest.get(m.id)?.version ?? 0) < m.version) newest.set(m.id, m);
    return [...newest.values()].filter((m) => !m.retired);
  }

  /** The records of a property that stand. */
  ofProperty(property) {
    return current([...this.records.values()].filter((a) => a.property === property));
  }

  ofVisit(visit) {
    return this.ofProperty(this.view.visits.get(visit)?.property).filter((a) => a.visit === visit);
  }

  stepsOf(visit) {
    return this.steps.filter((s) => s.visit === visit && s.state !== 'dropped');
  }

  /** Whether a planned step is done: each of its materials has a record that stands, or it takes none and the visit is handed in. @param {any} step */
  done(step) {
    if (step.state === 'done') return true;
    const goods = step.step?.goods ?? [];
    if (goods.length === 0) return ['handed in', 'signed off'].includes(this.view.visits.get(step.visit)?.state);
    const records = this.ofVisit(step.visit).filter((a) => a.step === step.id);
    return goods.every((g) => records.some((a) => !g.material || a.material === g.material));
  }

  missing(a) {
    return missing(this.book, a, this.materialOf(a.material, a.version), this.firm, this.ofDay(a.day));
  }

  /** The records of a day that stand, on whatever property this phone knows. @param {string} day */
  ofDay(day) {
    return current([...this.records.values()].filter((a) => a.day === day));
  }

  /** The rules of which a shorter record does. */
  shorter(a) {
    return shorter(this.book, a, this.materialOf(a.material, a.version), this.firm, this.ofDay(a.day));
  }

  /** The limits a record passes, by what this phone knows of the property. */
  flags(a) {
    const root = a.corrects || a.id;
    const earlier = this.ofProperty(a.property).filter((e) => e.id !== a.id && e.id !== root && (!a.corrects || e.corrects !== a.corrects));
    return judge(this.book, a, { material: this.materialOf, earlier, firm: this.firm });
  }

  /** What each zone of a property got in a year. @param {string} property @param {string} year */
  totals(property, year) {
    return totals(this.book, year, this.ofProperty(property), this.materialOf);
  }

  running(property, now) {
    return running(this.ofProperty(property), this.materialOf, now);
  }

  /** The items by id, with the words of the page for those without a label of their own. @param {string[]} ids @param {import('./words.js').Say} say @param {string} lang */
  itemNames(ids, say, lang) {
    return ids.map((id) => {
      const it = this.book.items.find((x) => x.id === id);
      if (it && !it.check) return say(`item.${id}`);
      return (lang === 'es' && it?.label.es) || it?.label.en || id;
    });
  }

  kind(material) {
    return this.book.kinds.find((k) => k.id === material?.kind);
  }

  toolNames(material, lang) {
    return (material?.tools ?? []).map((id) => {
      const t = this.book.tools.find((x) => x.id === id);
      return (lang === 'es' && t?.label.es) || t?.label.en || id;
    });
  }
}

/** A number as a crew reads it: two decimals at most, one from a thousand on. @param {number} x */
export function figure(x) {
  return String(Number(x.toFixed(Math.abs(x) >= 1000 ? 1 : 2)));
}

/** An amount in the firm's units, with its unit. @param {number} x @param {string} unit @param {boolean} metric */
export function amountSays(x, unit, metric) {
  const q = crew(x, unit, metric);
  return `${figure(q.value)} ${unitWords(q.unit)}`.trim();
}

/**
 * An amount on ground in the firm's units: "5 lb on 1000 sq ft", "24.41 g on 1 m²".
 * @param {import('./words.js').Say} say @param {number} x @param {string} unit @param {boolean} metric @param {(x: number) => string} [write]
 */
export function rateSays(say, x, unit, metric, write = figure) {
  const q = crew(x, unit, metric);
  const [top, under] = q.unit.split('/');
  return `${write(q.value)} ${unitWords(top)} ${say(`on.${under.replaceAll(' ', '')}`)}`;
}

/** What the words of a flag are measured in. @type {Record<string, (unit: string) => string>} */
const FLAG_UNITS = {
  once: (u) => `${u}/1000 ft2`, year: (u) => `${u}/1000 ft2`, active_once: () => 'lb/acre', active_year: () => 'lb/acre', n_once: () => 'lb/1000 ft2', n_year: () => 'lb/1000 ft2',
  wind_low: () => 'mi/h', wind_high: () => 'mi/h', temp_low: () => 'F', temp_high: () => 'F',
};

/** The sentence of a flag, its numbers in the firm's units. @param {import('./words.js').Say} say @param {any} flag @param {import('./view.js').View} view */
export function flagSays(say, flag, view) {
  const words = { ...flag.words };
  const unit = FLAG_UNITS[flag.code]?.(words.unit ?? '') ?? '';
  for (const name of unit ? ['value', 'limit'] : []) {
    const x = Number(words[name]);
    words[name] = unit.includes('/') && unit !== 'mi/h' ? rateSays(say, x, unit, view.metric, view.metric ? figure : exact) : amountSays(x, unit, view.metric);
  }
  return say(`flag.${flag.code}`, { ...words, zone: view.zones.get(flag.zone)?.name ?? '' });
}

/** A number with up to three decimals, so that what is just above a limit does not look like it. @param {number} x */
const exact = (x) => String(Math.round(x * 1000) / 1000);

/** What keeps people off, in sentences. */
export function offSays(say, list, view, time) {
  return list.map((r) => {
    const zones = r.zones.map((z) => view.zones.get(z)?.name ?? '').filter(Boolean).join(', ');
    const key = r.until && r.say ? 'both' : r.until ? 'until' : 'say';
    return say(`visit.off_${key}`, { zones, name: r.name, say: r.say, time: r.until ? time(r.until) : '' });
  });
}

/** What is planned of one material over all zones of a step. @param {any} step a step of the packet */
export function goodsOf(step) {
  return (step.step?.goods ?? []).map((g) => ({ ...g, zones: (step.step.parts ?? []).flatMap((p) => (p.goods ?? []).filter((x) => x.use === g.use).map((x) => ({ zone: p.zone, name: p.name, amount: x.amount }))) }));
}

/**
 * Adds up what the steps of some visits take, by material and unit, in the order they come. Steps that are done are left out.
 * @param {any[]} steps @param {string} [lang] @returns {{material: string, name: string, unit: string, total: number, lacking: string}[]}
 */
export function loads(steps, lang = 'en') {
  const out = new Map();
  for (const g of steps.flatMap((s) => s.step?.goods ?? [])) {
    const key = `${g.material ?? ''} ${g.name ?? ''} ${g.total?.unit ?? ''}`;
    const line = out.get(key) ?? { material: g.material ?? '', name: g.name || textIn(g.says, lang), unit: g.total?.unit ?? '', total: 0, lacking: textIn(g.lacking, lang), label: g.label };
    line.total += g.total?.value ?? 0;
    out.set(key, line);
  }
  return [...out.values()];
}

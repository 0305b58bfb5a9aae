// The engine's answer in the words of a person in the yard: what it may be, why, and what to look at next.

import { places } from './places.js';

const MOST = 3;
const LEAST = 0.1;
const TELLING = 0.1;

/** Likelihoods are shown in steps of five: finer would claim more than is known. */
export function percent(p) {
  return Math.min(95, Math.max(5, Math.round(p * 20) * 5));
}

/** @param {string} words */
const sentence = (words) => `${words[0].toUpperCase()}${words.slice(1)}.`;

/** @param {any} t @param {string} lang */
const text = (t, lang) => (lang === 'es' && t?.es ? t.es : t?.en ?? '');

export class Explainer {
  /** @param {any} bundle @param {string} lang @param {import('./words.js').Say} say */
  constructor(bundle, lang, say) {
    const byId = (list) => new Map(list.map((x) => [x.id, x]));
    Object.assign(this, { bundle, lang, say, causes: byId(bundle.causes), findings: byId(bundle.findings), checks: byId(bundle.checks) });
  }

  cause(id) {
    return text(this.causes.get(id)?.label, this.lang) || id;
  }

  /** A finding in a phrase: "short cores in 4 of 5 places". @param {any} weight @param {{check: string, value: any}[]} [values] */
  phrase({ finding, state }, values = []) {
    const f = this.findings.get(finding);
    const s = f?.states.find((x) => x.id === state);
    const what = text(s?.say, this.lang) || text(f?.label, this.lang) || finding;
    const n = places(this.bundle, values, finding, state);
    return n.in > 0 ? this.say('sofar.places', { what, in: n.in, of: n.of }) : what;
  }

  /** @param {any} likelihood @param {{check: string, value: any}[]} values */
  why(likelihood, values) {
    const told = (likelihood.for ?? []).filter((w) => w.weight > TELLING).slice(0, 2).map((w) => this.phrase(w, values));
    const against = (likelihood.against ?? []).filter((w) => w.weight > TELLING).slice(0, 1).map((w) => this.phrase(w, values));
    const parts = [];
    if (told.length > 0) parts.push(told.join('; '));
    if (against.length > 0) parts.push(this.say('sofar.against', { what: against[0] }));
    if (likelihood.driven_by?.length > 0) parts.push(this.say('sofar.driven', { cause: this.cause(likelihood.driven_by[0]) }));
    return parts.length > 0 ? sentence(parts.join('; ')) : this.say('sofar.season_only');
  }

  /** What the office said of a zone: its likely causes with their share, likeliest first. @param {any} diagnosis */
  earlier({ verdict, causes }) {
    if (verdict === 'nothing_wrong') return this.say('sofar.was_fine');
    const likely = causes.filter((c) => c.role || c.likelihood >= LEAST);
    return likely.map((c) => `${this.cause(c.id)} ${this.say('sofar.percent', { n: percent(c.likelihood) })}`).join(', ');
  }

  /** Checks by name, in one line. @param {string[]} ids */
  checksNamed(ids) {
    return ids.map((id) => text(this.checks.get(id)?.label, this.lang) || id).join(', ');
  }

  /** @param {any} answer  of the engine  @param {{check: string, value: any}[]} [values]  what was read */
  shown(answer, values = []) {
    const list = answer.causes.filter((c) => c.role || c.likelihood >= LEAST).slice(0, MOST);
    return list.map((c) => ({ id: c.id, label: this.cause(c.id), percent: percent(c.likelihood), why: this.why(c, values) }));
  }

  /** The next best check, null when nothing is left that would tell anything. @param {any} answer */
  next(answer) {
    const best = (answer.next ?? []).find((n) => this.checks.has(n.check) && n.gain > 0);
    if (!best) return null;
    const [a, b] = (best.apart ?? []).map((id) => this.cause(id));
    const what = b ? this.say('next.apart', { a, b }) : a ? this.say('next.about', { a }) : '';
    return { check: best.check, label: text(this.checks.get(best.check).label, this.lang), minutes: best.minutes, what };
  }
}

/** The case of one zone for the engine. */
export function caseOf({ zone, visit, property, observed }) {
  const context = {};
  if (visit?.why) context.visit = visit.why;
  if (property?.system) context.system = property.system;
  if (property?.region) context.region = property.region;
  const course = visit?.courses?.[zone] ?? {};
  return { id: zone, season: '', month: Number(visit?.day?.slice(5, 7)) || 0, context, observed, ...course };
}

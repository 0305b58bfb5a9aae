// What the readings of a zone, or of all zones of a property, come to on this phone: the engine with what it is asked.

import { Beside } from './beside.js';
import { Explainer, caseOf } from './explain.js';
import { observe } from './observe.js';
import { read } from './read.js';

/** The engine of this document, one for all pages that it turns to; another when the knowledge has changed. @param {any} page @param {any} knowledge @returns {Weigher} */
export function weigherOf(page, knowledge) {
  const { phone } = page;
  if (phone.weigher?.knowledge !== knowledge) phone.weigher = new Weigher(knowledge, phone.lang, phone.say);
  return phone.weigher;
}

export class Weigher {
  /** @param {any} knowledge  body and edition @param {string} lang @param {import('./words.js').Say} say @param {Beside} [engine] */
  constructor(knowledge, lang, say, engine = new Beside(knowledge)) {
    this.knowledge = knowledge;
    this.bundle = knowledge.body;
    this.checks = new Map(this.bundle.checks.map((/** @type {any} */ c) => [c.id, c]));
    this.engine = engine;
    this.words = new Explainer(this.bundle, lang, say);
  }

  /** What the current answers of a zone mean, in the order of the catalogue; text that can't be read says nothing. */
  values(/** @type {any} */ view, /** @type {string} */ visit, /** @type {string} */ zone) {
    const now = new Map([...view.current(visit, ''), ...view.current(visit, zone)]);
    const out = [];
    for (const check of this.checks.values()) {
      if (!now.has(check.id)) continue;
      const { value, problems } = read(check, now.get(check.id).typed);
      if (problems.every((/** @type {any} */ p) => p.ask) && !value.blank) out.push({ check: check.id, value });
    }
    return out;
  }

  /** Weighs one zone. Refuses when its findings can't all be true. @returns {Promise<any>} */
  weigh(/** @type {any} */ view, /** @type {any} */ visit, /** @type {string} */ zone, values = this.values(view, visit.id, zone)) {
    const { property } = view.place(visit);
    return this.engine.ask('weigh', caseOf({ zone, visit, property, observed: observe(this.bundle, values) }));
  }

  /** Makes answers faster while nothing is asked. @param {any} visit */
  warm(visit) {
    this.engine.warm(caseOf({ zone: '', visit, property: null, observed: [] }));
  }

  /** The answer of each zone of a visit; one whose findings can't all be true is left out. */
  async zones(/** @type {any} */ view, /** @type {any} */ visit) {
    const all = await Promise.all(view.zonesOf(visit.property).map(async (/** @type {any} */ z) => {
      const answer = await this.weigh(view, visit, z.id).catch(() => null);
      return answer && { zone: z.id, area: z.area_sqft ?? 0, answer };
    }));
    return all.filter(Boolean);
  }

  /** All zones of a visit together. @returns {Promise<any[]>} */
  async property(/** @type {any} */ view, /** @type {any} */ visit, zones = /** @type {any} */ (null)) {
    return this.engine.ask('property', zones ?? await this.zones(view, visit));
  }
}

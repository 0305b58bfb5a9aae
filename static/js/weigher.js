// What the readings of a zone, or of all zones of a property, come to on this phone: the engine with what it is asked.

import { Explainer, caseOf } from './explain.js';
import { makeEngine, observe } from './diagnose.js';
import { read } from './read.js';

/** Runs something when the page has nothing else to do. @param {() => void} f */
const idle = (f) => (globalThis.requestIdleCallback ? requestIdleCallback(f) : setTimeout(f, 50));

export class Weigher {
  /** @param {any} knowledge  body and edition @param {string} lang @param {import('./words.js').Say} say */
  constructor(knowledge, lang, say) {
    this.bundle = knowledge.body;
    this.checks = new Map(this.bundle.checks.map((/** @type {any} */ c) => [c.id, c]));
    this.engine = makeEngine(this.bundle, knowledge.edition);
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

  /** Weighs one zone. Throws when its findings can't all be true. */
  weigh(/** @type {any} */ view, /** @type {any} */ visit, /** @type {string} */ zone, values = this.values(view, visit.id, zone)) {
    const { property } = view.place(visit);
    return this.engine.diagnose(caseOf({ zone, visit, property, observed: observe(this.bundle, values) }));
  }

  /** Makes answers faster in idle moments, a little at a time. @param {any} visit */
  warm(visit) {
    const c = caseOf({ zone: '', visit, property: null, observed: [] });
    const more = () => { if (this.engine.warm(c)) idle(more); };
    idle(more);
  }

  /** The answer of each zone of a visit; one whose findings can't all be true is left out. */
  zones(/** @type {any} */ view, /** @type {any} */ visit) {
    const zones = [];
    for (const z of view.zonesOf(visit.property)) {
      try {
        zones.push({ zone: z.id, area: z.area_sqft ?? 0, answer: this.weigh(view, visit, z.id) });
      } catch {
        continue;
      }
    }
    return zones;
  }

  /** All zones of a visit together. */
  property(/** @type {any} */ view, /** @type {any} */ visit, zones = this.zones(view, visit)) {
    return this.engine.property(zones);
  }
}

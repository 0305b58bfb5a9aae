// What to be careful about at a property: its own cautions first, then what always holds where soil is opened.

const EVERYWHERE = ['always', 'dig', 'slope', 'heat'];

/** @param {any} property @param {any} bundle @param {string} lang @returns {string[]} */
export function siteCautions(property, bundle, lang) {
  const text = (t) => (lang === 'es' && t.es ? t.es : t.en);
  const own = property?.cautions ?? [];
  const always = (bundle?.cautions ?? []).filter((c) => c.where.some((w) => EVERYWHERE.includes(w))).map((c) => text(c.say));
  return [...own, ...always];
}

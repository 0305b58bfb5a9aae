// The units a crew works in: the firm's side, customary or metric. The same pairs as diagnose/agronomy/crew.go;
// testdata/vectors/units.json holds both to one meaning.

const G = 453.59237, L = 3.785411784, M2 = 0.09290304, HA = 0.40468564224, MI = 1.609344;
const GROUND = 1000 * M2; // square metres in 1000 sq ft

/** What one unit is in the metric unit that stands for it: [unit, how many]. @type {Record<string, [string, number]>} */
const METRIC = {
  'lb/1000 ft2': ['g/m2', G / GROUND], 'oz/1000 ft2': ['g/100 m2', (G / 16 / GROUND) * 100], 'gal/1000 ft2': ['L/100 m2', (L / GROUND) * 100], 'fl oz/1000 ft2': ['mL/100 m2', ((L * 1000) / 128 / GROUND) * 100],
  'yd3/1000 ft2': ['m3/100 m2', (0.9144 ** 3 / GROUND) * 100], 'lb/acre': ['kg/ha', G / 1000 / HA], 'oz/acre': ['g/ha', G / 16 / HA], 'gal/acre': ['L/ha', L / HA], 'fl oz/acre': ['mL/ha', (L * 1000) / 128 / HA],
  'lb/gal': ['kg/L', G / 1000 / L], lb: ['kg', G / 1000], oz: ['g', G / 16], gal: ['L', L], 'fl oz': ['mL', (L * 1000) / 128], yd3: ['m3', 0.9144 ** 3], in: ['mm', 25.4], ft: ['m', 0.3048], 'in/h': ['mm/h', 25.4],
  ft2: ['m2', M2], acre: ['ha', HA], 'mi/h': ['km/h', MI], 'count/ft2': ['count/m2', 1 / M2], psi: ['kPa', 6.894757293168361], gpm: ['Lpm', L],
  'qt/1000 ft2': ['L/100 m2', (L / 4 / GROUND) * 100], 'pt/1000 ft2': ['L/100 m2', (L / 8 / GROUND) * 100], 'kg/1000 ft2': ['g/m2', 1000 / GROUND], 'g/1000 ft2': ['g/100 m2', 100 / GROUND],
  'L/1000 ft2': ['L/100 m2', 100 / GROUND], 'mL/1000 ft2': ['mL/100 m2', 100 / GROUND], qt: ['L', L / 4], pt: ['L', L / 8], mph: ['km/h', MI],
};

/** The other way round, with what is only read. @type {Record<string, [string, number]>} */
const CUSTOMARY = {
  'kg/100 m2': ['lb/1000 ft2', (1000 / G) * (GROUND / 100)], 'kg/1000 ft2': ['lb/1000 ft2', 1000 / G], 'g/1000 ft2': ['oz/1000 ft2', 16 / G], 'L/1000 ft2': ['gal/1000 ft2', 1 / L], 'mL/1000 ft2': ['fl oz/1000 ft2', 128 / (L * 1000)],
  'mL/m2': ['fl oz/1000 ft2', (128 / (L * 1000)) * GROUND], cm: ['in', 1 / 2.54], 'm/s': ['mi/h', 3.6 / MI], 'g/L': ['lb/gal', L / G],
};
for (const from of ['lb/1000 ft2', 'oz/1000 ft2', 'gal/1000 ft2', 'fl oz/1000 ft2', 'yd3/1000 ft2', 'lb/acre', 'oz/acre', 'gal/acre', 'fl oz/acre', 'lb/gal', 'lb', 'oz', 'gal', 'fl oz', 'yd3', 'in', 'ft', 'in/h', 'ft2', 'acre', 'mi/h', 'count/ft2', 'psi', 'gpm']) {
  const [to, many] = METRIC[from];
  CUSTOMARY[to] = [from, 1 / many];
}

const SUBSTANCE = /^(\S+(?: oz)?) (N|P2O5|K2O|PLS|P|K|ai|CCE)(?=\/|$)/;

/**
 * A quantity in the unit that a crew of one side works in. What is on that side already, or has no counterpart, stays as it is.
 * @param {number} value @param {string} unit @param {boolean} metric @returns {{value: number, unit: string}}
 */
export function crew(value, unit, metric) {
  if (metric && unit === 'F') return { value: (value - 32) / 1.8, unit: 'C' };
  if (!metric && unit === 'C') return { value: value * 1.8 + 32, unit: 'F' };
  const of = SUBSTANCE.exec(unit)?.[2] ?? '';
  const pair = (metric ? METRIC : CUSTOMARY)[of ? unit.replace(SUBSTANCE, '$1') : unit];
  const q = pair ? { value: value * pair[1], unit: of ? pair[0].replace(/(?=\/)|$/, ` ${of}`) : pair[0] } : { value, unit };
  return metric || pair ? sized(q) : q;
}

/** Small units and their big ones. @type {[string, string, number][]} */
const SIZES = [['g', 'kg', 1000], ['mL', 'L', 1000], ['oz', 'lb', 16], ['fl oz', 'gal', 128]];

/** Many grams are said in kilograms and little of a kilogram in grams; litres alike, and ounces that were grams. */
function sized({ value, unit }) {
  for (const [small, big, many] of SIZES) {
    if (unit === small && Math.abs(value) >= many) return { value: value / many, unit: big };
    if (unit === big && many === 1000 && value !== 0 && Math.abs(value) < 0.1) return { value: value * many, unit: small };
  }
  return { value, unit };
}

const WORDS = [['/1000 ft2', ' / 1000 sq ft'], ['/100 m2', ' / 100 m²'], ['/m2', ' / m²'], ['yd3', 'cu yd'], ['ft2', 'sq ft'], ['m2', 'm²'], ['m3', 'm³'], ['mi/h', 'mph'], ['count', ''], ['Lpm', 'L/min']];

/** A unit as a crew reads it. @param {string} unit */
export function unitWords(unit) {
  if (unit === 'F' || unit === 'C') return `°${unit}`;
  if (['fraction', 'ratio', 'count'].includes(unit)) return '';
  return WORDS.reduce((text, [from, to]) => text.replace(from, to), unit).trim();
}

// Turns the current readings of a zone into observations for the engine, as the office does.

/**
 * Mean, sample standard deviation and count.
 * @param {number[]} xs
 */
export function average(xs) {
  let mean = 0;
  for (const x of xs) mean += x;
  mean /= xs.length;
  if (xs.length < 2) return {mean, sd: 0, n: xs.length};
  let squares = 0;
  for (const x of xs) squares += (x - mean) * (x - mean);
  return {mean, sd: Math.sqrt(squares / (xs.length - 1)), n: xs.length};
}

/** The observation that a value yields, or null when it says nothing. @param {any} y @param {any} value */
function yielded(y, value) {
  const finding = y.finding;
  if (y.from === 'state') return value.state ? {finding, state: value.state} : null;
  if (y.from === 'signs') {
    const present = value.present ?? [], absent = value.absent ?? [];
    return present.length + absent.length > 0 ? {finding, present, absent} : null;
  }
  const xs = value.numbers ?? [];
  if (xs.length < Math.max(y.min_n ?? 0, 1)) return null;
  if (y.from === 'mean') return {finding, number: average(xs)};
  if (y.from === 'range') return {finding, number: {mean: Math.max(...xs) - Math.min(...xs), sd: 0, n: 1}};
  if (y.from === 'sum') return {finding, number: {mean: xs.reduce((/** @type {number} */ a, /** @type {number} */ b) => a + b, 0), sd: 0, n: 1}};
  if (y.from === 'max') return {finding, number: {mean: Math.max(...xs), sd: 0, n: 1}};
  return null;
}

/**
 * Observations in catalogue order of findings. Blank readings, unknown checks and numbers taken too few times say nothing;
 * where two readings speak of one finding, the later counts.
 * @param {any} bundle
 * @param {{check: string, value: any}[]} readings
 * @returns {import('./diagnose.js').Observed[]}
 */
export function observe(bundle, readings) {
  const byFinding = new Map();
  for (const r of readings) {
    const check = bundle.checks.find((/** @type {any} */ c) => c.id === r.check);
    if (!check || r.value.blank) continue;
    for (const y of check.yields ?? []) {
      const o = yielded(y, r.value);
      if (o) byFinding.set(y.finding, o);
    }
  }
  return bundle.findings.map((/** @type {any} */ f) => byFinding.get(f.id)).filter(Boolean);
}

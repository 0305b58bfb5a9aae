// In how many of the places where a measurement was repeated it shows a state by itself.

/**
 * of is 0 where the finding is not the mean of a check that was repeated.
 * @param {any} bundle
 * @param {{check: string, value: any}[]} values
 * @param {string} finding
 * @param {string} state
 */
export function places(bundle, values, finding, state) {
  const bands = bundle.findings.find((/** @type {any} */ f) => f.id === finding)?.bands ?? [];
  const at = bands.findIndex((/** @type {any} */ b) => b.state === state);
  const out = {in: 0, of: 0};
  if (at < 0) return out;
  for (const {check, value} of values) {
    const yields = bundle.checks.find((/** @type {any} */ c) => c.id === check)?.yields ?? [];
    const xs = value.numbers ?? [];
    if (xs.length < 2 || !yields.some((/** @type {any} */ y) => y.finding === finding && y.from === 'mean')) continue;
    out.of = xs.length;
    out.in = xs.filter((/** @type {number} */ x) => {
      const i = bands.findIndex((/** @type {any} */ b) => x < b.high);
      return (i < 0 ? bands.length - 1 : i) === at;
    }).length;
  }
  return out;
}

// The phone's rules of a record against the vectors that Go reads too.

import test from 'node:test';
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { amount, current, judge, missing, nozzles, rate, running, totals, wanted } from '../js/record.js';

const file = (path) => JSON.parse(readFileSync(new URL(path, import.meta.url), 'utf8'));
const vectors = file('../../testdata/vectors/record.json');
const book = file('../../store/record/data/book.json');
const materialOf = (id, version) => vectors.materials.find((m) => m.id === id && m.version === version) ?? null;
const near = (got, want) => assert.ok(Math.abs(got - want) < 1e-6, `${got} is not ${want}`);

for (const c of vectors.cases) {
  test(c.name, () => {
    for (const z of c.application.zones) near(amount(book, c.application.unit, z.typed), z.amount);
    assert.deepEqual(missing(book, c.application, materialOf(c.application.material, c.application.version), c.firm, c.same), c.missing);
    const flags = judge(book, c.application, { material: materialOf, earlier: current(c.earlier), firm: c.firm });
    assert.deepEqual(flags, c.flags);
  });
}

test('a season of records: what stands, what it adds up to, who stays off', () => {
  const { records, totals: want, running: off } = vectors.series;
  const list = current(records);
  assert.deepEqual(list.map((a) => a.id), vectors.series.current);
  for (const [year, zones] of Object.entries(want)) {
    const got = totals(book, year, list, materialOf);
    assert.deepEqual([...got.keys()], Object.keys(zones));
    for (const [zone, sum] of Object.entries(zones)) {
      for (const key of ['n', 'p2o5', 'k2o']) near(got.get(zone)[key], sum[key]);
      assert.deepEqual(Object.keys(got.get(zone).active).sort(), Object.keys(sum.active).sort());
      for (const [name, x] of Object.entries(sum.active)) near(got.get(zone).active[name], x);
    }
  }
  for (const { now, names } of off) assert.deepEqual(running(list, materialOf, Date.parse(now)).map((r) => r.name), names);
});

for (const c of vectors.calibrations) test(`calibration: ${c.why}`, () => {
  near(rate(book, c), c.rate);
  near(wanted(book, c), c.wanted ?? 0);
  const n = nozzles(book, c);
  near(n?.mean ?? 0, c.mean ?? 0);
  assert.equal(n?.list.length ?? 0, c.off?.length ?? 0);
  n?.list.forEach((x, i) => near(x.off, c.off[i]));
  assert.deepEqual(n?.list.flatMap((x, i) => (x.worn ? [i + 1] : [])) ?? [], c.worn ?? []);
});

// The phone's engine against the vectors that the office's engine wrote, and what the vectors can't say.

import {test} from 'node:test';
import assert from 'node:assert/strict';
import {readFileSync} from 'node:fs';
import {Contradiction, InputError, makeEngine, observe} from '../js/diagnose.js';
import {erf, erfc} from '../js/erf.js';

const read = (name) => JSON.parse(readFileSync(new URL(`../../testdata/vectors/${name}.json`, import.meta.url), 'utf8'));
const bundle = read('diagnose-bundle');
const vectors = read('diagnose');
const engine = makeEngine(bundle);

/** Equal but for numbers, which may be off by a little. Weights magnify the last bits of a likelihood near certainty. */
function alike(got, want, at = '') {
  if (typeof want === 'number') {
    const most = at.endsWith('.weight') ? 1e-7 : 1e-9;
    assert.ok(Math.abs(got - want) <= most, `${at}: ${got}, want ${want}`);
  } else if (want !== null && typeof want === 'object') {
    assert.deepEqual(Object.keys(got), Object.keys(want), at);
    for (const k of Object.keys(want)) alike(got[k], want[k], `${at}.${k}`);
  } else {
    assert.equal(got, want, at);
  }
}

for (const v of vectors) {
  test(`vector: ${v.name}`, () => {
    if (v.answer) {
      alike(engine.diagnose(v.case), v.answer);
      return;
    }
    assert.throws(() => engine.diagnose(v.case), (e) => {
      if (e instanceof Contradiction) alike({kind: 'contradiction', findings: e.findings}, v.error);
      else if (e instanceof InputError) alike({kind: e.kind, findings: e.finding ? [e.finding] : []}, v.error);
      else return false;
      return true;
    });
  });
}

test('there are vectors of both kinds', () => {
  assert.ok(vectors.filter((v) => v.answer).length >= 25);
  assert.ok(vectors.filter((v) => v.error).length >= 10);
});

test('one engine answers the same whatever it was asked before', () => {
  const asked = vectors.filter((v) => v.answer);
  for (const v of [...asked].reverse()) alike(engine.diagnose(v.case), v.answer);
});

test('erf and erfc', () => {
  // Values of the error function to 17 digits (Abramowitz and Stegun, table 7.1, and the asymptotic series).
  const known = [[0, 0, 1], [0.1, 0.1124629160182849, 0.8875370839817151], [0.5, 0.5204998778130465, 0.4795001221869535],
    [1, 0.8427007929497149, 0.15729920705028513], [2, 0.9953222650189527, 0.004677734981047266],
    [3, 0.9999779095030014, 2.209049699858544e-5], [5, 0.9999999999984626, 1.5374597944280349e-12]];
  for (const [x, e, c] of known) {
    assert.ok(Math.abs(erf(x) - e) < 1e-15, `erf(${x}) = ${erf(x)}`);
    assert.ok(Math.abs(erfc(x) / c - 1) < 1e-13, `erfc(${x}) = ${erfc(x)}`);
    assert.equal(erf(-x) + erf(x), 0);
    assert.ok(Math.abs(erfc(-x) - (1 + e)) < 1e-15);
  }
  assert.equal(erf(Infinity), 1);
  assert.equal(erfc(Infinity), 0);
  assert.equal(erfc(-Infinity), 2);
  assert.ok(Number.isNaN(erf(NaN)) && Number.isNaN(erfc(NaN)));
});

test('observe: numbers, states, signs, blanks', () => {
  const got = observe(bundle, [
    {check: 'plants', value: {present: ['clover'], absent: ['knotweed']}},
    {check: 'core', value: {numbers: [2, 2.5, 7, 7.5]}},
    {check: 'tint', value: {state: 'straw'}},
    {check: 'probe', value: {blank: true}},
    {check: 'bug_count', value: {numbers: [0, 12, 4]}},
    {check: 'note', value: {text: 'gate sticks'}},
    {check: 'gone', value: {state: 'x'}},
  ]);
  alike(got, [
    {finding: 'tint', state: 'straw'},
    {finding: 'core', number: {mean: 4.75, sd: 2.9011491975882016, n: 4}},
    {finding: 'core_range', number: {mean: 5.5, sd: 0, n: 1}},
    {finding: 'bug_count', number: {mean: 12, sd: 0, n: 1}},
    {finding: 'plants', present: ['clover'], absent: ['knotweed']},
  ]);
});

test('observe: too few numbers say nothing of a spread, and the later reading counts', () => {
  const got = observe(bundle, [{check: 'core', value: {numbers: [2]}}, {check: 'core', value: {numbers: [4, 6]}}]);
  assert.deepEqual(got.map((o) => o.finding), ['core']);
  assert.equal(got[0].number.mean, 5);
});

for (const v of read('property')) {
  test(`property: ${v.name}`, () => {
    alike(engine.property(v.zones.map(({zone, area, case: c}) => ({zone, area, answer: engine.diagnose(c)}))), v.want);
  });
}

test('a warm engine answers what a cold one does, to the last bit', () => {
  for (const v of vectors.filter((x) => x.answer)) {
    const cold = makeEngine(bundle), warm = makeEngine(bundle);
    let tables = 0;
    while (warm.warm(v.case)) tables++;
    assert.ok(tables > 0);
    assert.deepEqual(warm.diagnose(v.case), cold.diagnose(v.case), v.name);
  }
});

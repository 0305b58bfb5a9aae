// The units a crew works in, against the table that Go reads too.

import test from 'node:test';
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { areaText, readArea } from '../js/area.js';
import { crew, unitWords } from '../js/units.js';
import { amountSays, flagSays, rateSays } from '../js/work.js';
import { makeSay } from '../js/words.js';

const vectors = JSON.parse(readFileSync(new URL('../../testdata/vectors/units.json', import.meta.url), 'utf8'));
const say = makeSay(JSON.parse(readFileSync(new URL('../text/en.field.json', import.meta.url), 'utf8')));

for (const v of vectors) {
  test(`${v.given.value} ${v.given.unit} for a ${v.metric ? 'metric' : 'customary'} crew`, () => {
    const q = crew(v.given.value, v.given.unit, v.metric);
    assert.equal(q.unit, v.is.unit);
    assert.ok(Math.abs(q.value - v.is.value) <= 1e-4 * Math.abs(v.is.value), `${q.value}`);
    assert.equal(unitWords(q.unit), v.says);
  });
}

test('areas are read in the firm\'s unit, or in the one that stands behind them', () => {
  const near = (got, want) => assert.ok(Math.abs(got - want) < 0.01, `${got} is not ${want}`);
  for (const [text, metric, sqft] of [['1200', false, 1200], ['1,200', false, 1200], ['1,200.5 sq ft', true, 1200.5], ['110', true, 1184.03], ['110 m²', false, 1184.03], ['110 m2', true, 1184.03], ['90 pies²', true, 90]]) near(readArea(text, metric), sqft);
  for (const text of ['', 'much', '12,00', '-5', '3 acres']) assert.ok(Number.isNaN(readArea(text, true)), text);
  assert.equal(areaText(1184.03, true), '110');
  assert.equal(areaText(2150.4, false), '2150');
  assert.equal(areaText(0, true), '');
});

test('amounts and rates in words, on both sides', () => {
  assert.equal(amountSays(5.7, 'lb', false), '5.7 lb');
  assert.equal(amountSays(5.7, 'lb', true), '2.59 kg');
  assert.equal(rateSays(say, 3, 'lb/1000 ft2', false), '3 lb on 1000 sq ft');
  assert.equal(rateSays(say, 3, 'lb/1000 ft2', true), '14.65 g on 1 m²');
  assert.equal(rateSays(say, 1.5, 'fl oz/1000 ft2', true), '47.75 mL on 100 m²');
  assert.equal(rateSays(say, 8.1, 'lb/acre', true), '9.08 kg on a hectare');
});

test('the sentences of flags have the firm\'s units', () => {
  const view = (metric) => ({ metric, zones: new Map([['f', { name: 'Front' }]]) });
  const wind = { code: 'wind_high', words: { value: '12', limit: '10' } };
  const once = { code: 'once', zone: 'f', words: { value: '3.2', limit: '3', unit: 'lb' } };
  const times = { code: 'times', zone: 'f', words: { value: '3', limit: '2' } };
  assert.equal(flagSays(say, wind, view(false)), 'Wind 12 mph; the label stops at 10 mph.');
  assert.equal(flagSays(say, wind, view(true)), 'Wind 19.31 km/h; the label stops at 16.09 km/h.');
  assert.equal(flagSays(say, once, view(true)), 'Front: 15.62 g on 1 m²; the label allows 14.65 g on 1 m² at once.');
  assert.equal(flagSays(say, times, view(true)), 'Front: time number 3 this year; the label allows 2.');
});

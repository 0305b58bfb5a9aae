// What was put down and what is planned, as one picture of the day packet, the feed and this phone's own records.

import test from 'node:test';
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { View } from '../js/view.js';
import { Work, figure, flagSays, goodsOf, loads, offSays } from '../js/work.js';
import { makeSay } from '../js/words.js';

const book = JSON.parse(readFileSync(new URL('../../store/record/data/book.json', import.meta.url), 'utf8'));
const say = makeSay(JSON.parse(readFileSync(new URL('../text/en.field.json', import.meta.url), 'utf8')));

const feed = { id: 'feed', version: 3, kind: 'fertilizer', name: '24-0-11', unit: 'lb', grade: { n: 24, p2o5: 0, k2o: 11 }, actives: [], tools: ['spreader'], limits: { reentry_hours: 4 } };

function known({ rows = [], others = [], body = {} } = {}) {
  return {
    me: { id: 'jonah', name: 'Jonah' }, skew: 0, acked: { through: 0 }, others, rows,
    packet: { body: {
      now: '2026-08-27T14:00:00.000Z', days: ['2026-08-27', '2026-08-28'], clients: [], readings: [], diagnoses: [],
      visits: [{ id: 'v1', property: 'p1', day: '2026-08-27', state: 'under way' }, { id: 'v2', property: 'p2', day: '2026-08-27', state: 'planned' }],
      properties: [{ id: 'p1', address: '14 Alder Rise' }, { id: 'p2', address: '3 Wren Hollow' }], zones: [{ id: 'front', property: 'p1', name: 'Front', area_sqft: 2000 }, { id: 'far', property: 'p2', name: 'Far', area_sqft: 1000 }],
      materials: [{ ...feed, version: 1, name: 'the bag before' }, feed, { id: 'gone', version: 2, kind: 'other', unit: 'lb', retired: true }],
      applications: [], steps: [], calibrations: [], record: { ...book, firm: { rules: [], n_once: 1, n_year: 0 } }, ...body,
    } },
  };
}

const work = (parts) => new Work(new View(known(parts)));

const applied = (id, typed, more = {}) => ({
  n: 1, saved: 0, op: { id, form: 'application', author: 'jonah', hlc: `0198e0000000-0001-000${id.slice(-1)}`, at: '2026-08-27T10:00:00.000-04:00', photos: [], body: {
    visit: 'v1', material: 'feed', version: 3, name: '24-0-11', reg_no: '', unit: 'lb', start: '2026-08-27T09:30:00.000-04:00', end: '2026-08-27T09:50:00.000-04:00',
    items: { applicator: 'Jonah', equipment: 'One' }, zones: [{ zone: 'front', typed, area_sqft: 2000 }], ...more,
  } },
});

test('this phone\'s own records, with their amounts read and their day', () => {
  const w = work({ rows: [applied('a1', '96 oz')] });
  const [a] = w.ofVisit('v1');
  assert.equal(a.zones[0].amount, 6);
  assert.equal(a.day, '2026-08-27');
  assert.equal(a.property, 'p1');
  assert.deepEqual(w.missing(a), []);
  assert.deepEqual(w.ofVisit('v2'), []);
});

test('what the office has already is not there twice', () => {
  const row = applied('a1', '6');
  const held = { ...row.op.body, id: 'a1', at: row.op.at, stamp: 'x', day: '2026-08-27', property: 'p1', zones: [{ zone: 'front', typed: '6', amount: 6, area_sqft: 2000 }] };
  const w = work({ rows: [row], others: [{ seq: 5, stamp: 'y', op: row.op }], body: { applications: [held] } });
  assert.equal(w.ofProperty('p1').length, 1);
});

test('a correction stands for the first record, and is not judged beside it', () => {
  const w = work({ rows: [applied('a1', '9'), applied('a2', '8', { corrects: 'a1' })] });
  const list = w.ofVisit('v1');
  assert.deepEqual(list.map((a) => a.id), ['a2']);
  assert.deepEqual(w.flags(list[0]), []);
  const over = work({ rows: [applied('a1', '9')] });
  const [flag] = over.flags(over.ofVisit('v1')[0]);
  assert.equal(flagSays(say, flag, over.view), "Front: nitrogen, 1.08 lb on 1000 sq ft; the firm's limit is 1 lb on 1000 sq ft at once.");
});

test('a record that was set aside by the office does not count; one of another phone does', () => {
  const { op } = applied('a1', '6');
  assert.equal(work({ others: [{ seq: 5, stamp: 'y', op, aside: true }] }).ofVisit('v1').length, 0);
  assert.equal(work({ others: [{ seq: 5, stamp: 'y', op }] }).ofVisit('v1').length, 1);
});

test('only the newest version of what is offered', () => {
  assert.deepEqual(work().offered().map((m) => [m.id, m.version]), [['feed', 3]]);
});

test('who stays off, until when', () => {
  const w = work({ rows: [applied('a1', '6')] });
  const at = (text) => w.running('p1', Date.parse(text));
  assert.deepEqual(offSays(say, at('2026-08-27T15:00:00Z'), w.view, () => '1:50 PM'), ['Keep off Front: 24-0-11, until 1:50 PM.']);
  assert.deepEqual(at('2026-08-27T18:00:00Z'), []);
});

const goods = (use, material, total, unit = 'lb') => ({ use, material, name: material, total: { value: total, unit } });
const step = (id, visit, list, state = 'planned') => ({ id, visit, state, step: { do: { en: id }, goods: list, parts: [{ zone: 'front', name: 'Front', goods: list.map((g) => ({ use: g.use, amount: g.total })) }] } });

test('the load adds up by material and unit, over all stops', () => {
  const steps = [step('p/0', 'v1', [goods('fertilizer', 'feed', 6.25)]), step('p/1', 'v2', [goods('fertilizer', 'feed', 3), goods('seed', 'tf', 2, 'oz')])];
  assert.deepEqual(loads(steps).map((l) => [l.name, l.total, l.unit]), [['feed', 9.25, 'lb'], ['tf', 2, 'oz']]);
  assert.deepEqual(loads([{ step: {} }]), []);
  assert.deepEqual(goodsOf(steps[0])[0].zones, [{ zone: 'front', name: 'Front', amount: { value: 6.25, unit: 'lb' } }]);
});

test('a planned step is done by a record that names it', () => {
  const steps = [step('p/0', 'v1', [goods('fertilizer', 'feed', 6)]), step('p/1', 'v1', [], 'dropped')];
  const before = work({ body: { steps } });
  assert.deepEqual(before.stepsOf('v1').map((s) => s.id), ['p/0']);
  assert.equal(before.done(steps[0]), false);
  const after = work({ body: { steps }, rows: [applied('a1', '6', { step: 'p/0' })] });
  assert.equal(after.done(steps[0]), true);
  const withdrawn = work({ body: { steps }, rows: [applied('a1', '6', { step: 'p/0' }), applied('a2', '', { step: 'p/0', corrects: 'a1', withdrawn: true })] });
  assert.equal(withdrawn.done(steps[0]), false);
});

test('a day packet of an office that knows nothing of it', () => {
  const w = work({ body: { record: undefined, materials: undefined, applications: undefined, steps: undefined, calibrations: undefined } });
  assert.equal(w.known, false);
  assert.deepEqual(w.ofVisit('v1'), []);
});

test('numbers as a crew reads them', () => {
  assert.deepEqual([6.25, 18.254, 0.1, 1234.56, 3].map(figure), ['6.25', '18.25', '0.1', '1234.6', '3']);
});

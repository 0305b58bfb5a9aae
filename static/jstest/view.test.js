import test from 'node:test';
import assert from 'node:assert/strict';
import { View, blank, newer, spoken } from '../js/view.js';
import { splitUnit, joined } from '../js/control.js';
import { figures } from '../js/spread.js';
import { footLine } from '../js/foot.js';
import { percent, Explainer, caseOf } from '../js/explain.js';
import { siteCautions } from '../js/cautions.js';
import { photosRefused } from '../js/photos.js';
import { base64 } from '../js/copy.js';
import { typeOf, fitted } from '../js/camera.js';
import { makeSay, counted, span } from '../js/words.js';

const NOW = Date.parse('2026-08-27T10:00:00Z');
const hlc = (ms, c = 0, tail = 'aaaa') => `${ms.toString(16).padStart(12, '0')}-${c.toString(16).padStart(4, '0')}-${tail}`;
const op = (id, form, body, ms = NOW, more = {}) => ({ id, form, body, entity: more.entity ?? id, author: 'p1', at: new Date(ms).toISOString(), hlc: hlc(ms, 0, more.tail), photos: [] });
const row = (n, o, saved = NOW) => ({ n, op: { ...o, n }, saved });
const answer = (typed) => ({ visit: 'v1', zone: 'z1', check: 'c1', typed });

function known(more = {}) {
  return {
    packet: { body: {
      now: '2026-08-27T09:00:00.000Z', days: ['2026-08-27', '2026-08-28'],
      visits: [
        { id: 'v1', property: 'a', crew: 'p1', day: '2026-08-27', order: 2, state: 'planned' },
        { id: 'v2', property: 'a', crew: 'p1', day: '2026-08-27', order: 1, state: 'planned' },
        { id: 'v3', property: 'a', crew: 'p2', day: '2026-08-27', order: 3, state: 'planned' },
        { id: 'v4', property: 'a', crew: 'p1', day: '2026-08-20', order: 1, state: 'sent back' },
        { id: 'v0', property: 'a', crew: 'p1', day: '2026-06-01', order: 1, state: 'signed off' },
      ],
      properties: [{ id: 'a', client: 'k', address: '1 Elm', cautions: ['Dog in the yard'] }], clients: [{ id: 'k', name: 'K' }],
      zones: [{ id: 'z1', property: 'a', name: 'Front' }],
      readings: [{ id: 'r0', visit: 'v0', zone: 'z1', check: 'c1', typed: '5', seq: 3, stamp: hlc(NOW - 9e9) }], diagnoses: [],
    } },
    others: [], rows: [], acked: { through: 0 }, me: { id: 'p1' }, marks: {}, skew: 0, knowledge: null, ...more,
  };
}

test('the newest answer shows; on one phone its own numbers decide and not the clock', () => {
  const rows = [row(1, op('a', 'reading', answer('2'), NOW + 50_000)), row(2, op('b', 'reading', answer('3'), NOW))];
  assert.equal(new View(known({ rows })).current('v1', 'z1').get('c1').typed, '3');
  assert.ok(newer({ n: 1, order: 1 }, { n: 2, order: 2 }) < 0);
});

test('an answer of another phone shows when it is newer, and once', () => {
  const rows = [row(1, op('a', 'reading', answer('2')))];
  const others = [{ seq: 8, stamp: hlc(NOW + 1000), op: op('x', 'reading', answer('9'), NOW + 1000) }, { seq: 9, stamp: hlc(NOW), op: op('a', 'reading', answer('2')) }];
  const view = new View(known({ rows, others }));
  assert.equal(view.current('v1', 'z1').get('c1').typed, '9');
  assert.equal(view.all('v1', 'z1', 'c1').length, 2);
  assert.equal(view.base('v1', 'z1', 'c1'), 9);
});

test('a phone whose clock is behind is moved to the office clock before it is compared', () => {
  const rows = [row(1, op('a', 'reading', answer('mine'), NOW - 3600_000))];
  const others = [{ seq: 8, stamp: hlc(NOW - 60_000), op: op('x', 'reading', answer('theirs')) }];
  assert.equal(new View(known({ rows, others, skew: 3600_000 })).current('v1', 'z1').get('c1').typed, 'mine');
});

test('missing, taken back and looked at are three things', () => {
  const view = new View(known({ rows: [row(1, op('a', 'reading', answer('2'))), row(2, op('b', 'reading', answer('-')))] }));
  assert.equal(view.current('v1', 'z1').has('c1'), false);
  assert.equal(view.all('v1', 'z1', 'c1').length, 2);
  assert.ok(blank('') && blank(' - ') && !blank('0') && !blank('none'));
});

test('set aside rows of the feed do not show', () => {
  const others = [{ seq: 8, aside: true, stamp: hlc(NOW), op: op('x', 'reading', answer('9')) }];
  assert.equal(new View(known({ others })).current('v1', 'z1').size, 0);
});

test('the day sheet: own visits in order, earlier ones that still wait first', () => {
  const sheet = new View(known()).sheet();
  assert.deepEqual([...sheet].map(([day, list]) => [day, list.map((v) => v.id)]), [['', ['v4']], ['2026-08-27', ['v2', 'v1']], ['2026-08-28', []]]);
});

test('a tap the office does not know yet moves the visit; an old tap does not undo what the office decided', () => {
  const tap = (n, saved) => row(n, op(`t${n}`, 'visit', { visit: 'v4', state: 'handed in' }, saved), saved);
  assert.equal(new View(known({ rows: [tap(1, NOW)] })).visits.get('v4').state, 'handed in');
  const old = Date.parse('2026-08-27T08:00:00Z');
  assert.equal(new View(known({ rows: [tap(1, old)], acked: { through: 1 } })).visits.get('v4').state, 'sent back');
  assert.equal(new View(known({ rows: [tap(1, old)], acked: { through: 0 } })).visits.get('v4').state, 'handed in');
});

test('a zone made on this phone is there at once', () => {
  const view = new View(known({ rows: [row(1, op('o', 'zone', { visit: 'v1', property: 'a', name: 'Back' }, NOW, { entity: 'z9' }))] }));
  assert.deepEqual(view.zonesOf('a').map((z) => z.id), ['z1', 'z9']);
});

test('the last visit beside the check', () => {
  const before = new View(known()).before('v1', 'z1', 'c1');
  assert.equal(before.reading.typed, '5');
  assert.equal(before.day, '2026-06-01');
  assert.equal(new View(known()).before('v0', 'z1', 'c1'), null);
});

const inches = { kind: 'repeated', units: [{ id: 'in', label: { en: 'in' } }, { id: 'cm', label: { en: 'cm' } }] };

test('units are split from numbers and joined again', () => {
  assert.deepEqual(splitUnit(inches, '2; 2 1/2; 7 cm'), ['2; 2 1/2; 7', 'cm']);
  assert.deepEqual(splitUnit(inches, '7½in'), ['7½', 'in']);
  assert.deepEqual(splitUnit(inches, 'twin'), ['twin', '']);
  assert.deepEqual(splitUnit(inches, '2'), ['2', '']);
  assert.equal(joined(['2', '3'], 'cm'), '2; 3 cm');
  assert.equal(joined([], 'cm'), '');
  assert.deepEqual(figures([2, 2.5, 7, 7.5]), { mean: 4.75, low: 2, high: 7.5, range: 5.5 });
});

test('answers in words', () => {
  const check = { kind: 'signs', options: [{ id: 'a', label: { en: 'Holes', es: 'Hoyos' } }, { id: 'b', label: { en: 'Webs', es: '' } }] };
  assert.equal(spoken(check, 'a b only', 'es'), 'Hoyos; Webs');
  assert.equal(spoken(inches, '2; 3', 'en'), '2; 3 in');
  assert.equal(spoken(inches, '2 cm', 'en'), '2 cm');
});

const say = makeSay({ 'foot.kept.many': '{n} kept on this phone', 'foot.kept.one': '1 kept on this phone', 'foot.received': '{n} received by the office, {time}', 'foot.received_none': 'none received', 'foot.all': 'All {n} received by the office, {time}', 'foot.oldest': 'oldest {span}', 'foot.sending': 'sending', 'foot.none_yet': 'nothing yet', 'foot.nothing': 'nothing waiting', 'foot.asked': 'heard {time}', 'span.minutes': '{n} min', 'span.hours': '{n} h', 'span.days': '{n} days', 'foot.photos.one': '1 photo', 'foot.photos.many': '{n} photos' });

test('the foot line claims nothing that was not confirmed', () => {
  const counts = { kept: 14, received: 9, unsent: 5, oldest: NOW - 3 * 3600_000, at: NOW };
  const line = footLine(say, counts, false, NOW);
  assert.equal(line.first, '14 kept on this phone');
  assert.match(line.second, /^9 received by the office, .+ · oldest 3 h$/);
  assert.doesNotMatch(footLine(say, { ...counts, received: 0, at: 0 }, true, NOW).second, /received by the office/);
  assert.match(footLine(say, { ...counts, unsent: 0, received: 14 }, false, NOW).first, /^All 14 received/);
  assert.match(footLine(say, { ...counts, photos: 2 }, false, NOW).second, /2 photos/);
  assert.equal(footLine(say, { kept: 0, received: 0, unsent: 0, oldest: Infinity, at: 0 }, false, NOW).first, 'nothing yet');
  assert.equal(counted(say, 'foot.kept', 1), '1 kept on this phone');
  assert.equal(span(say, 50 * 3600_000), '2 days');
});

test('likelihoods are said in steps of five and never as certain', () => {
  assert.deepEqual([0, 0.011, 0.62, 0.63, 0.999, 1].map(percent), [5, 5, 60, 65, 95, 95]);
});

test('a cause is explained by what speaks for and against it', () => {
  const words = makeSay({ 'sofar.against': 'against it: {what}', 'sofar.season_only': 'Only the season.', 'sofar.driven': 'brought by {cause}', 'next.apart': 'tells {a} from {b}' });
  const bundle = {
    causes: [{ id: 'k1', label: { en: 'Dry soil' } }, { id: 'k2', label: { en: 'Grubs' } }], checks: [{ id: 'c1', label: { en: 'Tug' } }],
    findings: [{ id: 'f', label: { en: 'F' }, states: [{ id: 's', say: { en: 'short cores' } }, { id: 't', say: { en: 'firm hold' } }] }],
  };
  const e = new Explainer(bundle, 'en', words);
  const cause = { id: 'k1', likelihood: 0.7, role: 'primary', driven_by: [], for: [{ finding: 'f', state: 's', weight: 2 }], against: [{ finding: 'f', state: 't', weight: 1 }] };
  assert.equal(e.why(cause), 'Short cores; against it: firm hold.');
  assert.equal(e.why({ for: [], against: [], driven_by: [] }), 'Only the season.');
  assert.deepEqual(e.shown({ causes: [cause, { id: 'k2', likelihood: 0.02, role: '', for: [], against: [] }] }).map((c) => [c.label, c.percent]), [['Dry soil', 70]]);
  assert.equal(e.next({ next: [{ check: 'gone', gain: 1 }, { check: 'c1', gain: 0.4, minutes: 1, apart: ['k2', 'k1'] }] }).what, 'tells Grubs from Dry soil');
  assert.equal(e.next({ next: [{ check: 'c1', gain: 0, minutes: 1, apart: [] }] }), null);
  assert.deepEqual(caseOf({ zone: 'z', visit: { why: 'complaint', day: '2026-08-27' }, property: { system: '', region: 'r' }, observed: [] }), { id: 'z', season: '', month: 8, context: { visit: 'complaint', region: 'r' }, observed: [] });
});

test('no photo is taken where the client wants none', () => {
  const asked = (photos) => new View(known({ packet: { body: { ...known().packet.body, clients: [{ id: 'k', name: 'K', ...photos }] } } }));
  assert.equal(photosRefused(asked({ photos: 'no' }), 'v1'), true);
  for (const said of [{}, { photos: '' }, { photos: 'yes' }, { photos: 'firm' }]) assert.equal(photosRefused(asked(said), 'v1'), false);
  assert.equal(photosRefused(asked({ photos: 'no' }), 'a visit this phone does not know'), false);
});

test("a property's own cautions come first", () => {
  const bundle = { cautions: [{ where: ['dig'], say: { en: 'Locate lines' } }, { where: ['pesticide'], say: { en: 'Label' } }] };
  assert.deepEqual(siteCautions({ cautions: ['Dog'] }, bundle, 'en'), ['Dog', 'Locate lines']);
});

test('bytes as text, types from bytes, sizes that fit', () => {
  const bytes = Uint8Array.from({ length: 100_000 }, (_, i) => i % 251);
  assert.equal(base64(bytes.buffer), Buffer.from(bytes).toString('base64'));
  assert.equal(typeOf(Uint8Array.of(0xff, 0xd8, 0xff).buffer, 'image/png'), 'image/jpeg');
  assert.equal(typeOf(new TextEncoder().encode('\0\0\0\x18ftypheic').buffer, ''), 'image/heic');
  assert.equal(typeOf(new ArrayBuffer(0), ''), 'application/octet-stream');
  assert.deepEqual(fitted(4000, 3000), { width: 1600, height: 1200 });
  assert.deepEqual(fitted(800, 600), { width: 800, height: 600 });
});

test('E1 a phone far ahead does not win over who had seen its answer', () => {
  const others = [
    { seq: 8, device: 'd2', stamp: hlc(NOW + 9e9), op: op('x', 'reading', answer('9'), NOW + 9e9) },
    { seq: 9, device: 'd3', stamp: hlc(NOW), op: { ...op('y', 'reading', answer('4'), NOW), base: 8 } },
  ];
  assert.equal(new View(known({ others })).current('v1', 'z1').get('c1').typed, '4');
  const mine = { ...row(1, { ...op('m', 'reading', answer('5'), NOW - 5000), base: 9 }) };
  assert.equal(new View(known({ others, rows: [mine], device: 'd1' })).current('v1', 'z1').get('c1').typed, '5', 'nor over what I gave just now, knowing it');
  const blind = { ...row(1, { ...op('m', 'reading', answer('5'), NOW - 5000), base: 0 }) };
  assert.equal(new View(known({ others, rows: [blind], device: 'd1' })).current('v1', 'z1').get('c1').typed, '4', 'one that I had not seen competes by its clock');
});

test('E2 what the office chose stands until something newer is answered', () => {
  const at = (id, typed, ms, seq, device, more) => ({ id, visit: 'v1', zone: 'z1', check: 'c1', typed, seq, stamp: hlc(ms), device, base: 0, ...more });
  const state = known({});
  state.packet.body.readings.push(at('a', '2', NOW, 10, 'd2', { current: true }), at('b', '3', NOW + 1000, 11, 'd3'));
  assert.equal(new View(state).current('v1', 'z1').get('c1').typed, '2');
  state.others = [{ seq: 12, device: 'd4', stamp: hlc(NOW + 2000), op: op('c', 'reading', answer('7'), NOW + 2000) }];
  assert.equal(new View(state).current('v1', 'z1').get('c1').typed, '7');
});

import { test } from 'node:test';
import assert from 'node:assert/strict';
import { standing, thinnest } from '../js/guide.js';
import { Explainer } from '../js/explain.js';
import { View } from '../js/view.js';
import { langOf, textIn } from '../js/words.js';

const answer = (counted, ...gains) => ({ counted, next: gains.map((gain, i) => ({ check: `c${i}`, gain, minutes: 1 })) });

test('enough to tell: nothing left that is worth its time, and enough seen', () => {
  assert.deepEqual(standing(answer(6, 0.05, 0.09)).missing, []);
  assert.equal(standing(answer(6, 0.05, 0.09)).enough, true);
  assert.equal(standing(answer(6)).enough, true, 'everything has been looked at');
  assert.equal(standing(answer(6, 0.05, 0.1)).enough, false);
});

test('what is missing is named best first, three at most', () => {
  assert.deepEqual(standing(answer(9, 0.01, 0.2, 0.5, 0.3, 0.4)).missing, ['c1', 'c2', 'c3']);
  assert.deepEqual(standing(answer(2, 0.02, 0.01)).missing, ['c0', 'c1'], 'too little was seen, so even small gains are named');
});

test('the thinnest zone has most left open', () => {
  const zones = [{ zone: 'a', answer: answer(6, 0.2, 0.2) }, { zone: 'b', answer: answer(9, 0.3, 0.2) }, { zone: 'c', answer: answer(9, 0.01) }];
  assert.equal(thinnest(zones).zone, 'b');
  assert.equal(thinnest(zones.slice(2)), null, 'one zone is not compared');
  assert.equal(thinnest([zones[2], zones[2]]), null, 'all have enough');
  assert.equal(thinnest([{ zone: 'x', answer: answer(0, 0.3) }, { zone: 'y', answer: answer(0, 0.3) }]).zone, 'x', 'of equals the first on the walk');
});

test('the office’s last thought of a zone comes from the visit before, never from this or a later one', () => {
  const visits = [['v1', '2026-05-01'], ['v2', '2026-07-01'], ['now', '2026-08-27'], ['v4', '2026-09-30']].map(([id, day]) => ({ id, day, property: 'p' }));
  const diagnoses = visits.map((v) => ({ visit: v.id, zone: 'z', verdict: 'cause', causes: [] }));
  const body = { visits, properties: [], clients: [], zones: [], readings: [], days: [], diagnoses };
  const view = new View({ packet: { body }, others: [], rows: [], acked: { through: 0 }, marks: {}, skew: 0 });
  assert.equal(view.thought('now', 'z').day, '2026-07-01');
  assert.equal(view.thought('v1', 'z'), null);
  assert.equal(view.thought('now', 'other'), null);
});

test('an earlier thought is told by its likely causes', () => {
  const say = (key, p = {}) => (key === 'sofar.percent' ? `${p.n} %` : key);
  const words = new Explainer({ causes: [{ id: 'dry', label: { en: 'Dry', es: 'Seco' } }, { id: 'wet', label: { en: 'Wet', es: 'Mojado' } }], findings: [], checks: [] }, 'es', say);
  assert.equal(words.earlier({ verdict: 'cause', causes: [{ id: 'dry', likelihood: 0.62, role: 'primary' }, { id: 'wet', likelihood: 0.04, role: '' }] }), 'Seco 60 %');
  assert.equal(words.earlier({ verdict: 'nothing_wrong', causes: [] }), 'sofar.was_fine');
});

test('the language is the person’s, or what they chose on this phone', () => {
  const me = { id: 'a', lang: 'es' };
  assert.equal(langOf({ me }), 'es');
  assert.equal(langOf({ me, lang: { person: 'a', was: 'es', lang: 'en' } }), 'en');
  assert.equal(langOf({ me, lang: { person: 'b', was: 'es', lang: 'en' } }), 'es', 'somebody else chose');
  assert.equal(langOf({ me: { id: 'a', lang: 'en' }, lang: { person: 'a', was: 'es', lang: 'es' } }), 'en', 'the office changed it since');
  assert.equal(langOf({ me: { id: 'a', lang: 'xx' } }), 'en');
  assert.equal(textIn({ en: 'Sand', es: 'Arena' }, 'es'), 'Arena');
  assert.equal(textIn({ en: 'Sand' }, 'es'), 'Sand');
  assert.equal(textIn(undefined, 'es'), '');
});

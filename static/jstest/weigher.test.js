import { test } from 'node:test';
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { Weigher } from '../js/weigher.js';
import { Beside } from '../js/beside.js';
import { packed, thinker } from '../js/thinker.js';
import { places } from '../js/places.js';

const bundle = JSON.parse(readFileSync(new URL('../../testdata/vectors/diagnose-bundle.json', import.meta.url), 'utf8'));
const say = (key, values = {}) => `${key} ${Object.values(values).join(' ')}`.trim();

/** A phone's view with readings by zone. */
function viewOf(zones, readings, courses = {}) {
  const visit = { id: 'v', property: 'p', day: '2026-08-27', why: 'complaint', courses };
  return {
    visit,
    view: {
      current: (_, zone) => new Map(Object.entries(readings[zone] ?? {}).map(([check, typed]) => [check, { typed }])),
      place: () => ({ property: { id: 'p', system: 'present' } }),
      zonesOf: () => zones,
    },
  };
}

test('places: a state in so many of the places where it was measured', () => {
  const values = [{ check: 'core', value: { numbers: [1, 2, 2.9, 3, 20] } }];
  assert.deepEqual(places(bundle, values, 'core', 'short'), { in: 3, of: 5 });
  assert.deepEqual(places(bundle, values, 'core', 'deep'), { in: 1, of: 5 });
  assert.deepEqual(places(bundle, [{ check: 'core', value: { numbers: [1] } }], 'core', 'short'), { in: 0, of: 0 });
  assert.deepEqual(places(bundle, values, 'core_range', 'large'), { in: 0, of: 0 });
  assert.deepEqual(places(bundle, values, 'ghost', 'short'), { in: 0, of: 0 });
});

test('a zone is weighed by what can be read, and says in how many places', async () => {
  const { view, visit } = viewOf([{ id: 'front' }], { front: { core: '1; 2; 2; 8', tint: 'nonsense' } });
  const weigher = new Weigher({ body: bundle, edition: 'e1' }, 'en', say);
  const answer = await weigher.weigh(view, visit, 'front');
  assert.equal(answer.edition, 'e1');
  assert.equal(answer.counted, 2, 'cores and their range count, what cannot be read does not');
  const told = weigher.words.phrase({ finding: 'core', state: 'short' }, weigher.values(view, 'v', 'front'));
  assert.match(told, /^sofar\.places .* 3 4$/);
});

test('what the last visit left, as the packet tells it, is where a zone begins', async () => {
  const before = [{ cause: 'bugs', likelihood: 0.9, days: 5 }];
  const { view, visit } = viewOf([{ id: 'front' }, { id: 'back' }], { front: { core: '8; 8; 8; 8' }, back: { core: '8; 8; 8; 8' } }, { front: { before } });
  const weigher = new Weigher({ body: bundle, edition: '' }, 'en', say);
  const of = async (zone) => (await weigher.weigh(view, visit, zone)).causes.find((c) => c.id === 'bugs').likelihood;
  const [front, back] = [await of('front'), await of('back')];
  assert.ok(front > 5 * back, `${front}, ${back}`);
});

test('zones that share what brings a cause hear of it once; a zone at odds with itself stops nobody', async () => {
  const zones = [{ id: 'front', area_sqft: 3000 }, { id: 'back', area_sqft: 1000 }, { id: 'side' }];
  const { view, visit } = viewOf(zones, { front: { core: '1; 1; 1; 1' }, back: { core: '1; 1; 1; 1' }, side: { core: '-5' } });
  const found = await new Weigher({ body: bundle, edition: '' }, 'en', say).property(view, visit);
  assert.equal(found[0].once, true);
  assert.deepEqual(found[0].zones, ['front', 'back']);
  assert.equal(found[0].shared, 'water');
});

/** A worker of the page's own thread: it clones what goes either way, and may die. */
class Apart {
  constructor() { this.think = null; this.asked = 0; }
  postMessage(message) {
    const { n, what, about } = structuredClone(message);
    if (what === 'begin') { this.think = thinker(about); return; }
    this.asked++;
    queueMicrotask(() => {
      if (this.dead) return;
      let said;
      try { said = { n, answer: this.think(what, about) }; } catch (err) { said = { n, fault: packed(err) }; }
      this.onmessage({ data: structuredClone(said) });
    });
  }
  terminate() { this.dead = true; }
}

test('beside the page the engine says what it says in it, and a worker that dies is not missed', async () => {
  const { view, visit } = viewOf([{ id: 'front' }], { front: { core: '1; 2; 2; 8' } });
  const knowledge = { body: bundle, edition: 'e1' };
  const apart = new Apart();
  const beside = new Weigher(knowledge, 'en', say, new Beside(knowledge, () => apart));
  const inPage = await new Weigher(knowledge, 'en', say, new Beside(knowledge, () => null)).weigh(view, visit, 'front');
  assert.deepEqual(await beside.weigh(view, visit, 'front'), inPage);
  assert.equal(apart.asked, 1);
  const open = beside.weigh(view, visit, 'front');
  apart.terminate();
  apart.onerror();
  assert.deepEqual(await open, inPage, 'what was asked when it died is answered');
  assert.deepEqual(await beside.weigh(view, visit, 'front'), inPage);
  assert.equal(apart.asked, 2, 'and it is not asked again');
});

test('findings that cannot all be true are named through the worker too', async () => {
  const apart = new Apart();
  const engine = new Beside({ body: bundle, edition: '' }, () => apart);
  await assert.rejects(engine.ask('weigh', { id: '', season: 'no such', observed: [] }), (err) => err.kind === undefined && /season/.test(err.message));
});

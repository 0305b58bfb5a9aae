// The phone's sums against the office's.
import { test } from 'node:test';
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { GROUND, SLOPES, audit, cycles, mouth, rateOfDepth, rateOfVolume, runTime, wholeMinutes } from '../js/cans.js';
import { directSun, elevationOf, lightClass } from '../js/sun.js';
import { SHAPES, lawn } from '../js/tape.js';
import { HOLDS, lastRain, wettingDepth } from '../js/wetting.js';
import { grasses, obstruction } from '../js/aidsun.js';
import { sight, skyline } from '../js/horizon.js';
import { numberOf } from '../js/aidparts.js';
import { FRAMES, cover, perArea } from '../js/frame.js';
import { apart, crosses, walked } from '../js/walk.js';

const vectors = JSON.parse(readFileSync(new URL('../../testdata/vectors/agronomy.json', import.meta.url), 'utf8'));

function near(got, want, what) {
  assert.ok(Math.abs(got - want) <= 1e-9 * Math.max(1, Math.abs(want)), `${what}: ${got}, not ${want}`);
}

test('catch cans: uniformity, rate, run time', () => {
  for (const v of vectors.cans) {
    const a = audit(v.catch);
    for (const [mine, theirs] of [['mean', 'mean'], ['lowCount', 'low_count'], ['lowMean', 'low_mean'], ['quarter', 'quarter'], ['half', 'half'], ['christiansen', 'christiansen']]) near(a[mine], v[theirs], `${mine} of ${v.catch}`);
    if (v.multiplier === 0) assert.equal(a.multiplier, null);
    else near(a.multiplier, v.multiplier, 'multiplier');
    if (v.multiplier > 0) near(runTime(0.5, 0.8, a.multiplier), v.run_time, 'run time');
  }
  for (const r of vectors.rates) {
    near(rateOfDepth(r.DepthMM, r.Minutes), r.ByDepth, 'rate by depth');
    near(rateOfVolume(r.VolumeML, mouth(r.AcrossCM), r.Minutes), r.ByVolume, 'rate by volume');
  }
  assert.equal(audit([]), null);
  assert.equal(audit([0, 0]), null, 'without water there is no uniformity');
});

test('soils and slopes: the same table, and cycles that do not run off', () => {
  assert.equal(vectors.ground.length, Object.keys(GROUND).length * SLOPES.length);
  for (const g of vectors.ground) assert.deepEqual([GROUND[g.Soil][0], GROUND[g.Soil][1][SLOPES.indexOf(g.Slope)]], [g.Intake, g.Storage]);
  for (const c of vectors.cycles) {
    const got = cycles(c.rate, c.soil, c.slope, c.total);
    assert.equal(got.limited, c.limited);
    for (const name of ['count', 'each', 'soak']) near(got[name], c[name], `${name} at ${c.rate} on ${c.soil}`);
  }
});

test('direct sun behind houses and trees, on any day', () => {
  assert.ok(vectors.sun.some((v) => v.direct < v.daylight - 1) && vectors.sun.some((v) => v.daylight === 0 || v.daylight === 24));
  for (const v of vectors.sun) {
    const got = directSun(v.date, v, v.things);
    for (const name of ['direct', 'daylight', 'morning']) near(Math.round(got[name] * 1e9) / 1e9, v[name], `${name} on ${v.date} at ${v.latitude}`);
  }
  for (const a of vectors.angles) near(elevationOf(a.Height, a.Eye, a.Distance), a.Elevation, 'angle');
});

test('sun: more in the way never gives more sun, and no leaves let it through', () => {
  const place = { latitude: 40, longitude: -90 };
  const house = { from: 100, to: 200, elevation: 30 };
  for (const date of ['2026-01-10', '2026-05-01', '2026-08-27', '2026-12-01']) {
    const open = directSun(date, place, []), behind = directSun(date, place, [house]), taller = directSun(date, place, [{ ...house, elevation: 50 }]);
    assert.equal(open.direct, open.daylight);
    assert.ok(behind.direct <= open.direct && taller.direct <= behind.direct);
  }
  const maple = { ...house, leafFrom: 415, leafTo: 1105 };
  assert.equal(directSun('2026-12-01', place, [maple]).direct, directSun('2026-12-01', place, []).direct);
  assert.ok(directSun('2026-09-21', place, [maple]).direct < directSun('2026-09-21', place, []).direct);
  assert.deepEqual([3.9, 4, 5.9, 6].map(lightClass), ['little', 'thin', 'thin', 'vigorous']);
});

test('areas by tape', () => {
  for (const v of vectors.tape) {
    const got = SHAPES[v.shape].area(...v.lengths);
    assert.equal(SHAPES[v.shape].lengths.length, v.lengths.length);
    if (v.closes) near(got, v.area, `${v.shape} ${v.lengths}`);
    else assert.ok(Number.isNaN(got), `${v.lengths} can't close`);
  }
  for (const v of vectors.less) {
    const got = lawn([{ area: v.area, off: false }, ...v.minus.map((area) => ({ area, off: true }))]);
    if (v.fits) near(got, v.left, 'lawn less beds');
    else assert.ok(Number.isNaN(got), 'more taken off than there is');
  }
});

test('how deep water should have wetted the soil', () => {
  assert.equal(vectors.wetting.length, Object.keys(HOLDS).length);
  for (const w of vectors.wetting) {
    assert.deepEqual(HOLDS[w.Soil], [w.Low, w.High]);
    near(wettingDepth(w.Water, w.Low, w.Dried), w.Depth, w.Soil);
  }
});

test('directions as a person names them', () => {
  assert.deepEqual(obstruction({ from: 'sse', to: 'ssw', elevation: 35, leaf: false }), { from: 146.25, to: 213.75, elevation: 35 });
  assert.deepEqual(obstruction({ from: 'nw', to: 'n', elevation: 9, leaf: true }), { from: 303.75, to: 11.25, elevation: 9, leafFrom: 415, leafTo: 1105 });
  assert.equal(obstruction({ from: 'n', to: 'n', elevation: 1, leaf: false }).from, 348.75);
});

test('numbers of an aid are typed as everywhere else', () => {
  assert.equal(numberOf('2 1/2', 0, 10).n, 2.5);
  assert.equal(numberOf('2,5', 0, 10).n, 2.5);
  assert.deepEqual(numberOf('', 0, 10), { n: null, problem: null });
  assert.equal(numberOf('11', 0, 10, 'in').problem.code, 'out_of_bounds');
  assert.equal(numberOf('many', 0, 10).problem.code, 'unreadable');
});

test('offsets from a line', () => {
  for (const o of vectors.offsets) near(SHAPES.offsets.area(o.interval, o.list), o.area, `${o.list}`);
  assert.ok(Number.isNaN(SHAPES.offsets.area(5, [3])), 'one offset holds nothing');
});

test('an edge walked: the area on the ellipsoid within a millionth, and how sure it is', () => {
  assert.ok(vectors.walks.length >= 3);
  for (const w of vectors.walks) {
    const accuracy = w.sigma * Math.sqrt(-2 * Math.log(0.05));
    const got = walked(w.points.map(([lat, lon]) => ({ lat, lon, accuracy })));
    assert.ok(Math.abs(got.area / w.area - 1) < 1e-6, `${got.area}, not ${w.area}`);
    assert.ok(Math.abs(got.sd / w.sd - 1) < 0.006, `${got.sd}, not ${w.sd}`);
    assert.ok(Math.abs(got.sigma - w.sigma) < 1e-9);
  }
  const bow = [[40, -74], [40.001, -73.999], [40.001, -74], [40, -73.999]].map(([lat, lon]) => ({ lat, lon, accuracy: 3 }));
  assert.equal(walked(bow), null, 'a way that crosses itself holds no area');
  assert.equal(walked(bow.slice(0, 2)), null);
  assert.ok(!crosses([[0, 0], [1, 0], [1, 1], [0, 1]]));
  assert.ok(Math.abs(apart(bow[0], { ...bow[0], lat: 40.001 }) - 111.03) < 0.1);
});

test('cover by points, and counts in a frame', () => {
  for (const p of vectors.points) {
    const got = cover(p.hits, p.all);
    near(got.low, p.low, `low of ${p.hits} in ${p.all}`);
    near(got.high, p.high, `high of ${p.hits} in ${p.all}`);
  }
  assert.equal(perArea(3, FRAMES.foot, 'sqft'), 3);
  assert.equal(perArea(3, FRAMES.foot, 'sqyd'), 27);
  assert.ok(Math.abs(perArea(1, FRAMES.can, 'sqft') - 5.09) < 0.01, 'a 6 in can stands for about five');
  assert.ok(Math.abs(perArea(1, FRAMES.cup, 'sqft') - 10.15) < 0.01);
});

test('runs in whole minutes add up, give enough, and none runs off', () => {
  for (const soil of Object.keys(GROUND)) {
    for (const rate of [0.4, 0.9, 1.6, 2.4]) {
      for (const total of [5, 16.5, 33, 33.4, 61]) {
        const c = cycles(rate, soil, 1, total), w = wholeMinutes(c, total);
        assert.equal(w.total, w.count * w.each);
        assert.ok(w.total >= total - 1e-9 && w.total < total + w.count + 1e-9, `${w.total} for ${total}`);
        if (c.limited) assert.ok(w.each <= Math.max(1, c.longest) + 1e-9, `${w.each} min on ${soil} at ${rate}, at most ${c.longest}`);
      }
    }
  }
});

test('the phone sighted along its back: north, east, up', () => {
  const is = (o, azimuth, height) => { const got = sight(o); assert.ok(Math.abs((got.azimuth - azimuth + 540) % 360 - 180) < 1e-6 && Math.abs(got.height - height) < 1e-6, `${JSON.stringify(o)}: ${got.azimuth}, ${got.height}`); };
  is({ alpha: 0, beta: 90, gamma: 0 }, 0, 0); // upright, its back to the north
  is({ alpha: 270, beta: 90, gamma: 0 }, 90, 0); // turned right by a quarter
  is({ alpha: 180, beta: 120, gamma: 0 }, 180, 30); // to the south, its top leant towards the eye
  is({ alpha: 90, beta: 60, gamma: 0 }, 270, -30);
});

test('a skyline of sights hides what lies below its higher ends', () => {
  assert.deepEqual(skyline([{ azimuth: 100, height: 20 }, { azimuth: 140, height: 35 }, { azimuth: 200, height: -3 }]),
    [{ from: 100, to: 140, elevation: 35 }, { from: 140, to: 200, elevation: 35 }]);
  assert.deepEqual(skyline([{ azimuth: 100, height: 20 }]), []);
  assert.deepEqual(obstruction({ from: 100.5, to: 140, elevation: 35, leaf: false }), { from: 100.5, to: 140, elevation: 35 });
});

test('grasses by light come from the limits that the knowledge has for each', () => {
  const know = { findings: [{ id: 'light', bands_by: [{ other: 'kind', other_states: ['a'], bands: [{ low: 0, high: 3 }, { low: 3, high: 6 }, { low: 6, high: 25 }] }, { other: 'kind', other_states: ['b'], bands: [{ low: 0, high: 5 }, { low: 5, high: 6 }, { low: 6, high: 25 }] }] },
    { id: 'kind', states: [{ id: 'a', label: { en: 'A', es: 'Á' } }, { id: 'b', label: { en: 'B' } }, { id: 'c', label: { en: 'C' } }] }] };
  const check = { yields: [{ finding: 'light' }] };
  assert.deepEqual(grasses(know, check, 4, 'es'), { well: [], thin: ['Á'] });
  assert.deepEqual(grasses(know, check, 7, 'en'), { well: ['A', 'B'], thin: [] });
  assert.deepEqual(grasses(know, check, 1, 'en'), { well: [], thin: [] });
});

test('the last rain is the spell without a dry day between', () => {
  const days = [{ day: '2026-08-18', mm: 30 }, { day: '2026-08-24', mm: 12.7 }, { day: '2026-08-25', mm: 6.35 }];
  const both = lastRain(days), one = lastRain(days.slice(0, 2));
  near(both.inches, 0.75, 'both days');
  assert.equal(both.day, '2026-08-25');
  near(one.inches, 0.5, 'one day');
  assert.equal(one.day, '2026-08-24');
  assert.equal(lastRain([]), null);
});

// The phone's engine against a general-purpose library for Bayesian networks; testdata/bayes/README.md says which.
import {test} from 'node:test';
import assert from 'node:assert/strict';
import {readFileSync} from 'node:fs';
import {makeEngine} from '../js/diagnose.js';

const {networks} = JSON.parse(readFileSync(new URL('../../testdata/bayes/networks.json', import.meta.url), 'utf8'));

test('the phone agrees with a general library within a billionth', () => {
  assert.ok(networks.length >= 20);
  for (const w of networks) {
    const none = {checks: [], groups: [], adjust: [], ignore: []};
    const answer = makeEngine({...none, ...w.bundle}).diagnose(w.case);
    const like = new Map(answer.causes.map((l) => [l.id, l.likelihood]));
    w.bundle.causes.forEach((c, i) => {
      const d = Math.abs(like.get(c.id) - w.likelihoods[i]);
      assert.ok(d < 1e-9, `${w.case.id}, ${c.id}: ${d} apart`);
    });
    assert.ok(Math.abs(answer.nothing_wrong - w.nothing) < 1e-9, w.case.id);
  }
});

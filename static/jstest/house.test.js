// Laws of the phone's modules that no single test would notice broken.
import test from 'node:test';
import assert from 'node:assert/strict';
import { readFileSync, readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const js = fileURLToPath(new URL('../js/', import.meta.url));
const texts = fileURLToPath(new URL('../text/', import.meta.url));
const files = Object.fromEntries(readdirSync(js).filter((f) => f.endsWith('.js')).map((f) => [f, readFileSync(js + f, 'utf8')]));

test('each writing transaction states its durability', () => {
  let found = 0;
  for (const [name, text] of Object.entries(files)) {
    for (const line of text.split('\n').filter((l) => l.includes('readwrite'))) {
      found++;
      assert.match(line, /durability: '(strict|relaxed)'/, `${name}: ${line.trim()}`);
    }
  }
  assert.equal(found, 2, 'there is one way to save and one way to take notes');
});

test('what a person records is saved through keep, never through note', () => {
  for (const [name, text] of Object.entries(files)) {
    for (const call of text.matchAll(/\.note\(\[([^\]]*)\][\s\S]*?\n\s*\}?\)/g)) {
      assert.doesNotMatch(call[0], /put\('(ops|drafts|blobs)'/, `${name} notes what must be kept`);
    }
  }
});

test('the store is never deleted and nothing clears the site', () => {
  for (const [name, text] of Object.entries(files)) {
    assert.doesNotMatch(text.replace(/\/\/.*/g, ''), /deleteDatabase|localStorage\.clear|Clear-Site-Data/, name);
  }
});

test('no markup in strings, no inline styles or handlers', () => {
  for (const [name, text] of Object.entries(files)) {
    assert.doesNotMatch(text, /innerHTML|outerHTML|insertAdjacentHTML|document\.write|\beval\(|new Function|\.style\b|cssText|setAttribute\('style'/, name);
  }
});

test('every sentence that a module says is in the catalogue', () => {
  const words = new Set(['common', 'field'].flatMap((n) => Object.keys(JSON.parse(readFileSync(`${texts}en.${n}.json`, 'utf8')))));
  let found = 0;
  for (const [name, text] of Object.entries(files)) {
    for (const [, key] of text.matchAll(/\bsay\('([^']+)'/g)) {
      found++;
      assert.ok(words.has(key), `${name}: ${key}`);
    }
    for (const [, key] of text.matchAll(/counted\([\w.]*say, '([^']+)'/g)) {
      found++;
      assert.ok(words.has(`${key}.one`) && words.has(`${key}.many`), `${name}: ${key}`);
    }
  }
  assert.ok(found > 60, `${found} sentences`);
});

test('no sentence of the phone is left over', () => {
  const all = Object.values(files).join('\n') + readdirSync(fileURLToPath(new URL('../../web/page/', import.meta.url)))
    .filter((f) => /^(field|controls)/.test(f)).map((f) => readFileSync(fileURLToPath(new URL(`../../web/page/${f}`, import.meta.url)), 'utf8')).join('\n');
  const made = /^(problem|aside|state|sync|sofar|span|flag|item|soil|point|aid|tape|on|frame)\.|^sun\.(little|thin|vigorous)$|^visit\.off_/;
  for (const key of Object.keys(JSON.parse(readFileSync(`${texts}en.field.json`, 'utf8')))) {
    const stem = key.replace(/\.(one|many)$/, '');
    assert.ok(made.test(key) || all.includes(`'${stem}'`) || all.includes(`"${stem}"`), key);
  }
});

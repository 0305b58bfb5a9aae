// Days and times in the words of the catalogue, as a browser's own locale data would write them.

import { test } from 'node:test';
import assert from 'node:assert/strict';
import { readFile } from 'node:fs/promises';
import { asideSays, clockTime, dayName, loadSay } from '../js/words.js';

globalThis.fetch = async (url) => ({ json: async () => JSON.parse(await readFile(new URL(url), 'utf8')) });

const plain = (text) => text.replace(/[\u00a0\u202f]/g, ' ').replace('a. m.', 'a.m.').replace('p. m.', 'p.m.');

for (const [lang, locale] of [['en', 'en-US'], ['es', 'es-US']]) {
  test(`days and times of a year in ${lang}`, async () => {
    globalThis.document = { documentElement: { lang } };
    await loadSay(lang);
    for (let d = new Date(2026, 0, 1, 0, 7); d.getFullYear() === 2026; d = new Date(d.getTime() + 13 * 3600_000)) {
      const day = `2026-${String(d.getMonth() + 1).padStart(2, '0')}-${String(d.getDate()).padStart(2, '0')}`;
      assert.equal(dayName(day), d.toLocaleDateString(locale, { weekday: 'short', month: 'short', day: 'numeric' }));
      assert.equal(plain(clockTime(d.getTime())), plain(d.toLocaleTimeString(locale, { hour: 'numeric', minute: '2-digit' })));
    }
  });
}

test('a phone set to a country of 24 hours writes them in English', async () => {
  globalThis.document = { documentElement: { lang: 'en' } };
  Object.defineProperty(globalThis, 'navigator', { value: { language: 'en-GB' }, configurable: true });
  await loadSay('en');
  assert.equal(clockTime(new Date(2026, 7, 27, 9, 5).getTime()), '09:05');
  assert.equal(clockTime(new Date(2026, 7, 27, 22, 5).getTime()), '22:05');
});

test('why something is set aside is said in the person\'s language, and never not at all', async () => {
  const [en, es] = [await loadSay('en'), await loadSay('es')];
  const mark = { code: 'signed_off', say: 'The office had already signed off this visit.' };
  assert.equal(asideSays(mark, en, 'en'), mark.say);
  assert.equal(asideSays(mark, es, 'es'), es('aside.signed_off'));
  assert.equal(asideSays({ ...mark, say: '' }, en, 'en'), en('aside.signed_off'));
  assert.equal(asideSays({ code: 'of_a_later_office', say: 'Something new.' }, es, 'es'), 'Something new.');
});

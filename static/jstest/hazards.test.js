// Hazards that have a test of their own here: each is named after the row of the table in DEVELOPERS.md.
import test from 'node:test';
import assert from 'node:assert/strict';
import { readFileSync, readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { persist } from '../js/shell.js';
import { takeIn } from '../js/camera.js';
import { Foot } from '../js/foot.js';
import { Memory } from './memory.js';

const js = fileURLToPath(new URL('../js/', import.meta.url));
const settled = () => new Promise((done) => { setImmediate(() => setImmediate(done)); });

test('A5 asking the browser to keep the store never holds up or breaks a save', async () => {
  const asked = [];
  for (const [name, storage, noted] of [
    ['granted', { persist: async () => true }, true],
    ['refused', { persist: async () => false }, false],
    ['never answered', { persist: () => new Promise(() => {}) }, undefined],
    ['answered with an error', { persist: async () => { throw new Error('no'); } }, undefined],
    ['thrown at once', { persist: () => { throw new TypeError('no such thing'); } }, undefined],
    ['a browser without it', {}, undefined],
    ['a browser without any storage manager', null, undefined],
  ]) {
    const page = { db: new Memory() };
    const counted = storage?.persist && { persist: () => { asked.push(name); return storage.persist(); } };
    assert.equal(persist(page, counted ?? storage), undefined, name);
    persist(page, counted ?? storage);
    await settled();
    assert.equal(await page.db.read(['meta'], (tx) => tx.get('meta', 'persisted')), noted, name);
  }
  assert.equal(asked.length, new Set(asked).size, 'it is asked once a page');
  assert.equal(asked.length, 5);
});

/** The text between the bracket at `from` and the one that closes it. */
function enclosed(text, from) {
  let depth = 0;
  for (let i = from; i < text.length; i++) {
    if (text[i] === '(') depth++;
    if (text[i] === ')' && --depth === 0) return text.slice(from + 1, i);
  }
  throw new Error('no end');
}

test('B2 inside a transaction nothing is waited for but its own requests', () => {
  let found = 0;
  for (const name of readdirSync(js).filter((f) => f.endsWith('.js'))) {
    const text = readFileSync(js + name, 'utf8');
    for (const call of text.matchAll(/\.(?:keep|note|read)\(/g)) {
      const inside = enclosed(text, call.index + call[0].length - 1);
      for (const [, waited] of inside.matchAll(/\bawait\s+([^;]*)/g)) {
        found++;
        assert.match(waited, /^\(*\s*(?:tx\.|Promise\.all\(|(?:this\.)?\w+\(tx\b)/, `${name}: await ${waited}`);
      }
      assert.doesNotMatch(inside, /\b(?:fetch|sha256|digest|arrayBuffer|createImageBitmap|setTimeout|sleep)\(/, `${name}: ${inside.slice(0, 60)}`);
    }
  }
  assert.ok(found > 30, `${found} waits`);
});

test('B4 a picked file that can be read once only is taken in whole', async () => {
  for (const size of [1000, 900_000]) {
    const bytes = new Uint8Array(size).fill(7);
    bytes.set([0xff, 0xd8, 0xff, 0xe0]);
    let reads = 0;
    const picked = {
      type: 'image/jpeg', lastModified: 1790000000000,
      arrayBuffer: async () => {
        if (++reads > 1) throw Object.assign(new Error('the file changed'), { name: 'NotReadableError' });
        return bytes.buffer.slice(0);
      },
    };
    const taken = await takeIn(picked); // nothing here can draw, so the file's own bytes are kept
    assert.equal(reads, 1);
    assert.equal(taken.size, size);
    assert.deepEqual(new Uint8Array(taken.bytes), bytes);
    assert.equal(taken.taken, new Date(1790000000000).toISOString());
  }
});

test('the foot line shows the newest counts, also when older ones come back after them', async () => {
  const nodes = { kept: { textContent: '' }, received: { textContent: '' }, banners: { querySelector: () => null } };
  const had = { document: globalThis.document, setInterval: globalThis.setInterval };
  globalThis.document = { addEventListener() {}, querySelector: (at) => nodes[at.slice(6, -1)] ?? null };
  globalThis.setInterval = () => 0;
  try {
    const asked = [];
    const outbox = { db: new Memory(), counts: () => new Promise((answer) => { asked.push((kept) => answer({ kept, received: 0, unsent: kept, oldest: Date.now(), at: 0 })); }) };
    const foot = new Foot(outbox, (key, { n } = {}) => `${n ?? key}`);
    const both = [foot.refresh(), foot.refresh()];
    asked[1](67);
    await settled();
    asked[0](66);
    await Promise.all(both);
    assert.equal(nodes.kept.textContent, '67');
  } finally {
    Object.assign(globalThis, had);
  }
});

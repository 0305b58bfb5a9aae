import { test } from 'node:test';
import assert from 'node:assert/strict';
import { howTo } from '../js/how.js';

/** Just enough of a page to build elements in. */
class Node {
  constructor(tag) { Object.assign(this, { tag, kids: [], attrs: {} }); }
  setAttribute(name, value) { this.attrs[name] = value; }
  append(...kids) { this.kids.push(...kids); }
  get text() { return this.kids.map((k) => (typeof k === 'string' ? k : k.text)).join('|'); }
}

test('a how-to has its lines, minutes and tool in the language shown, and its drawing', () => {
  globalThis.document = { createElement: (tag) => new Node(tag), createElementNS: (_, tag) => new Node(tag) };
  const check = { id: 'core', drawing: 'corer', how_to: { en: 'Push it in.', es: 'Empújelo.' }, minutes: 1.5, tool: { en: 'A corer', es: 'Un sacabocados' } };
  const say = (key, values) => `${key} ${Object.values(values).join(' ')}`;
  const es = howTo(check, say, 'es');
  assert.match(es.text, /Empújelo\.\|check\.minutes 1\.5 · check\.tool Un sacabocados/);
  assert.equal(es.kids[0].kids[0].attrs.href, '/static/img/draw.svg#corer');
  const bare = howTo({ ...check, drawing: '', tool: {}, minutes: 0 }, say, 'en');
  assert.equal(bare.text, 'Push it in.|');
  delete globalThis.document;
});

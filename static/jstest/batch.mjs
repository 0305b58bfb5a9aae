// Prints one push as the phone's modules of this release send it, for testdata/batches/, where each release leaves one of each form:
//
//	node static/jstest/batch.mjs > testdata/batches/2026-11-25.json
//
// The office of every later release must take it in whole.

import { Outbox } from '../js/outbox.js';
import { Pusher } from '../js/push.js';
import { Memory } from './memory.js';
import { seeded } from './simulated.js';

const chance = seeded(7);
const random = (n) => Uint8Array.from({ length: n }, () => Math.floor(chance() * 256));
let now = Date.parse('2026-08-27T08:00:00Z');
const tick = () => { now += 20_000; return now; };
const db = new Memory();
const outbox = new Outbox(db, { now: tick, random, offset: () => 120 });
await db.note(['meta'], (tx) => tx.put('meta', { id: 'ana', name: 'Ana', role: 'crew', lang: 'es' }, 'me'));

const read = (zone, check, typed, photos = []) => outbox.record('reading', { visit: 'visit', zone, check, typed, edition: '2026-11-25' }, photos);
await outbox.record('visit', { visit: 'visit', state: 'under way' }, [], { op: 'edit', entity: 'visit' });
await read('front', 'tug_test', 'firm');
await read('front', 'core_depth_in', '2; 2 1/2; 7; 7,5 in');
await read('front', 'note', 'Césped húmedo 🌱 “junto” al cobertizo\n2½ m');
const made = await outbox.record('zone', { visit: 'visit', property: 'home', name: 'Strip behind the shed', area_sqft: 420.5 });
await read(made.op.id, 'thatch_in', '0.4; 0.5');
await read('front', 'tug_test', '-');
const sha = 'a'.repeat(64);
await read('front', 'photo', sha, [{ sha, size: 812_345, type: 'image/jpeg', bytes: new ArrayBuffer(8) }]);
await outbox.record('application', {
  visit: 'visit', material: '', version: 0, name: '24-0-11', reg_no: '', unit: 'lb', zones: [{ zone: 'front', typed: '3 1/8', area_sqft: 1000 }],
  start: '2026-08-27T10:00:00+02:00', end: '2026-08-27T10:20:00+02:00', items: { applicator: 'Ana', equipment: 'Rotary one' }, step: '', corrects: '', withdrawn: false, reason: '',
});
await outbox.record('visit', { visit: 'visit', state: 'handed in' }, [], { op: 'edit', entity: 'visit' });

const packing = globalThis.CompressionStream;
delete globalThis.CompressionStream; // the text itself
const net = { call: async (url, { body }) => { process.stdout.write(`${body}\n`); return { status: 200, json: { epoch: 'e', through: 10, seq: 10, now: new Date(now).toISOString() } }; } };
await new Pusher({ outbox, net, app: 'swardbook 2026-11-25', now: () => now }).all();
globalThis.CompressionStream = packing;

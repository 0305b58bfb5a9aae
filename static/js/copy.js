// A copy of everything that the office has not confirmed, as one file that can be handed over when the phone dies on us.
// The office can take it in like a push: the same rows, the same ids, so nothing is doubled.

import { asTheyAre } from './db.js';
import { Outbox } from './outbox.js';
import { PROTO } from './proto.js';

/** @param {ArrayBuffer} bytes */
export function base64(bytes) {
  const b = new Uint8Array(bytes);
  let text = '';
  for (let i = 0; i < b.length; i += 0x8000) text += String.fromCharCode(...b.subarray(i, i + 0x8000));
  return btoa(text);
}

/**
 * The pieces of the file, photo after photo so that only one is turned into text at a time.
 * @param {import('./outbox.js').Outbox} outbox @param {string} app
 */
export async function copyParts(outbox, app) {
  const { device, acked } = await outbox.state();
  const ops = (await outbox.unsent()).map((r) => r.op);
  const photos = (await outbox.db.read(['photos'], (tx) => tx.all('photos'))).filter((p) => !p.done);
  const head = { kind: 'swardbook-copy', proto: PROTO, app, device, epoch: acked.epoch, sent: new Date(outbox.now()).toISOString(), ops };
  const parts = [JSON.stringify(head).slice(0, -1), ',"photos":['];
  let first = true;
  for (const { sha, size, type } of photos) {
    const bytes = await outbox.db.read(['blobs'], (tx) => tx.get('blobs', sha));
    if (!bytes) continue;
    parts.push(first ? '' : ',', JSON.stringify({ sha, size, type, base64: base64(bytes) }));
    first = false;
  }
  parts.push(']}\n');
  return { parts, rows: ops.length, device };
}

/**
 * Hands over a copy of every store of this phone that can be read, one file each, also when a page can't start with it.
 * @param {string} app @returns {Promise<number>} how many records
 */
export async function saveCopies(app, stores = null, hand = handOver) {
  let rows = 0;
  for (const db of stores ?? (await asTheyAre())) {
    const copy = await copyParts(new Outbox(db), app);
    if (!copy.device) continue;
    rows += copy.rows;
    await hand(copy.parts, `${db.name}-${new Date().toISOString().slice(0, 10)}.json`);
  }
  return rows;
}

/** Shares the file where the phone can, else downloads it. @param {BlobPart[]} parts @param {string} name */
export async function handOver(parts, name) {
  const file = new File(parts, name, { type: 'application/json' });
  if (navigator.canShare?.({ files: [file] })) {
    try {
      await navigator.share({ files: [file] });
      return;
    } catch (err) {
      if (err?.name === 'AbortError') return;
    }
  }
  const url = URL.createObjectURL(file);
  const link = document.createElement('a');
  link.href = url;
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}

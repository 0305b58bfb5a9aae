// The last photos of the spots that are visited next, kept on the phone so that they are there without signal.

import { blank } from './view.js';

const KEPT = 'swardbook-last-photos';
const at = (/** @type {string} */ sha) => `/api/v1/photos/${sha}`;

/** The last photo of a zone before a visit. @param {import('./view.js').View} view @returns {{day: string, sha: string}|null} */
export function lastPhoto(view, visit, zone) {
  for (const check of view.known.knowledge?.body?.checks ?? []) {
    if (check.kind !== 'photo') continue;
    const was = view.before(visit, zone, check.id);
    if (was && !blank(was.reading.typed)) return { day: was.day, sha: was.reading.typed };
  }
  return null;
}

/** Fetches what is missing and lets go of what is no longer of use. @param {import('./view.js').View} view */
export async function keepLastPhotos(view) {
  if (!globalThis.caches) return;
  const visits = [...view.sheet()].flatMap(([, list]) => list);
  const wanted = new Set(visits.flatMap((v) => view.zonesOf(v.property).map((z) => lastPhoto(view, v.id, z.id)?.sha)).filter(Boolean));
  const cache = await caches.open(KEPT);
  const have = new Set((await cache.keys()).map((r) => new URL(r.url).pathname.split('/').pop()));
  for (const sha of have) if (!wanted.has(sha)) await cache.delete(at(sha));
  for (const sha of wanted) {
    if (have.has(sha)) continue;
    const answer = await fetch(at(sha)).catch(() => null);
    if (answer?.ok && (answer.headers.get('Content-Type') ?? '').startsWith('image/')) await cache.put(at(sha), answer);
  }
}

/** The bytes of a photo of the office's, when the phone has them. @param {string} sha */
export async function keptPhoto(sha) {
  const answer = await globalThis.caches?.match(at(sha));
  return answer ? answer.blob() : null;
}

// Taking in a photo: its bytes are read at once, since a picked file may not be readable later; then it is made smaller
// when that works, and kept as it is when not. No photo is dropped; what is none is refused.

import { sha256 } from './pictures.js';

const LONGEST = 1600;
const QUALITY = 0.85;
const SMALL_ENOUGH = 400 * 1024;

/** What the office takes as a photo, whether this browser can draw it or not. */
const PHOTOS = ['image/jpeg', 'image/png', 'image/webp', 'image/heic'];

/** The file that was picked is no photo. */
export class NoPicture extends Error {}

/** What the bytes say they are; a name or a claimed type may lie. @param {ArrayBuffer} bytes @param {string} claimed */
export function typeOf(bytes, claimed) {
  const b = new Uint8Array(bytes, 0, Math.min(16, bytes.byteLength));
  const text = String.fromCharCode(...b);
  if (b[0] === 0xff && b[1] === 0xd8) return 'image/jpeg';
  if (text.startsWith('\x89PNG')) return 'image/png';
  if (text.startsWith('RIFF') && text.slice(8, 12) === 'WEBP') return 'image/webp';
  if (text.slice(4, 8) === 'ftyp') return 'image/heic';
  return claimed || 'application/octet-stream';
}

/** The size that fits into the longest side. */
export function fitted(width, height, longest = LONGEST) {
  const scale = Math.min(1, longest / Math.max(width, height));
  return { width: Math.max(1, Math.round(width * scale)), height: Math.max(1, Math.round(height * scale)) };
}

/** @param {Blob} blob @returns {Promise<{width: number, height: number}>} */
async function shape(blob) {
  const url = URL.createObjectURL(blob);
  try {
    const img = new Image();
    img.src = url;
    await img.decode();
    return { width: img.naturalWidth, height: img.naturalHeight };
  } finally {
    URL.revokeObjectURL(url);
  }
}

/** @param {Blob} blob @param {{width: number, height: number}} size @returns {Promise<ArrayBuffer>} */
async function smaller(blob, { width, height }) {
  const to = fitted(width, height);
  const bitmap = await createImageBitmap(blob, { resizeWidth: to.width, resizeHeight: to.height, resizeQuality: 'medium' });
  const canvas = document.createElement('canvas');
  try {
    canvas.width = to.width;
    canvas.height = to.height;
    canvas.getContext('2d').drawImage(bitmap, 0, 0, to.width, to.height);
    const out = await new Promise((resolve) => canvas.toBlob(resolve, 'image/jpeg', QUALITY));
    return out.arrayBuffer();
  } finally {
    bitmap.close();
    canvas.width = canvas.height = 1;
  }
}

/** @param {File} file @returns {Promise<import('./outbox.js').Picture & {taken: string, drawn: boolean}>} drawn: whether this browser can show it */
export async function takeIn(file) {
  const original = await file.arrayBuffer();
  const type = typeOf(original, file.type);
  const taken = file.lastModified ? new Date(file.lastModified).toISOString() : '';
  let bytes = original;
  let kind = type;
  const blob = new Blob([original], { type });
  const size = await shape(blob).catch(() => null);
  if (!size && !PHOTOS.includes(type)) throw new NoPicture();
  if (size && (type !== 'image/jpeg' || original.byteLength > SMALL_ENOUGH)) {
    try {
      bytes = await smaller(blob, size);
      kind = 'image/jpeg';
    } catch { /* this phone has no room to draw it: its own bytes are kept */ }
  }
  return { sha: await sha256(bytes), size: bytes.byteLength, type: kind, bytes, taken, drawn: size !== null };
}

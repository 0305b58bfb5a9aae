// Names and clocks: device names, operation ids, the hybrid clock. Chance and time are handed in.

/** @typedef {(n: number) => Uint8Array} Random */

/** @type {Random} */
export const chance = (n) => crypto.getRandomValues(new Uint8Array(n));

/** @param {ArrayLike<number>} bytes */
export function hex(bytes) {
  return Array.from(bytes, (b) => b.toString(16).padStart(2, '0')).join('');
}

/** @param {Uint8Array} b @param {number} version */
function uuid(b, version) {
  b[6] = (b[6] & 0x0f) | (version << 4);
  b[8] = (b[8] & 0x3f) | 0x80;
  const h = hex(b);
  return `${h.slice(0, 8)}-${h.slice(8, 12)}-${h.slice(12, 16)}-${h.slice(16, 20)}-${h.slice(20)}`;
}

/** A random name. @param {Random} random */
export function uuid4(random) {
  return uuid(random(16), 4);
}

/** A name that sorts by its time. @param {number} ms @param {Random} random */
export function uuid7(ms, random) {
  const b = random(16);
  let rest = Math.floor(ms);
  for (let i = 5; i >= 0; i--) {
    b[i] = rest % 256;
    rest = Math.floor(rest / 256);
  }
  return uuid(b, 7);
}

/** @param {string} text @returns {{ms: number, count: number}} */
export function readClock(text) {
  const [ms, count] = String(text ?? '').split('-');
  return { ms: parseInt(ms, 16) || 0, count: parseInt(count, 16) || 0 };
}

/** @param {number} ms @param {number} count @param {string} device */
function clock(ms, count, device) {
  return `${ms.toString(16).padStart(12, '0')}-${count.toString(16).padStart(4, '0')}-${device.slice(-4)}`;
}

/** The next value of the hybrid clock: never behind the last one, whatever the phone's clock does. */
export function tick(last, now, device) {
  const was = readClock(last);
  const ms = Math.max(was.ms, Math.floor(now));
  if (ms > was.ms) return clock(ms, 0, device);
  return was.count < 0xffff ? clock(ms, was.count + 1, device) : clock(ms + 1, 0, device);
}

/** How far the office's clock may be off before only the difference is noted. */
const NEAR = 5 * 60_000;

/** The clock after hearing the office's time. */
export function heard(last, officeNow, now, device) {
  if (!Number.isFinite(officeNow) || Math.abs(officeNow - now) > NEAR || officeNow <= readClock(last).ms) return last;
  return clock(Math.floor(officeNow), 0, device);
}

/** The time as the person sees it, with its offset: 2026-09-21T08:30:11.120+02:00. offset is in minutes east. */
export function localTime(ms, offset) {
  const sign = offset < 0 ? '-' : '+';
  const abs = Math.abs(offset);
  const two = (n) => String(n).padStart(2, '0');
  return new Date(ms + offset * 60_000).toISOString().slice(0, -1) + `${sign}${two(Math.floor(abs / 60))}:${two(abs % 60)}`;
}

/** Text without broken halves of characters, which would change on the way. Goes through lists and objects. */
export function wellFormed(value) {
  if (typeof value === 'string') return value.toWellFormed ? value.toWellFormed() : mend(value);
  if (Array.isArray(value)) return value.map(wellFormed);
  if (value && typeof value === 'object') {
    return Object.fromEntries(Object.entries(value).map(([k, v]) => [k, wellFormed(v)]));
  }
  return value;
}

/** @param {string} text */
function mend(text) {
  return text.replace(/[\uD800-\uDBFF](?![\uDC00-\uDFFF])|(?<![\uD800-\uDBFF])[\uDC00-\uDFFF]/g, '\uFFFD');
}

// Every string a person reads on the phone, from the catalogue of texts.

/** @typedef {(key: string, params?: Record<string, any>) => string} Say */

/** @param {Record<string, string>} texts @returns {Say} */
export function makeSay(texts) {
  return (key, params = {}) => (texts[key] ?? key).replace(/\{(\w+)\}/g, (all, name) => (name in params ? String(params[name]) : all));
}

/** A counted thing: key.one or key.many. @param {Say} say */
export function counted(say, key, n, params = {}) {
  return say(`${key}.${n === 1 ? 'one' : 'many'}`, { n, ...params });
}

/** @returns {Promise<Say>} */
export async function loadSay() {
  const parts = await Promise.all(['common', 'field'].map(async (name) => (await fetch(`/static/text/en.${name}.json`)).json()));
  return makeSay(Object.assign({}, ...parts));
}

/** 10:42 as the phone writes it. */
export function clockTime(ms) {
  return new Date(ms).toLocaleTimeString([], { hour: 'numeric', minute: '2-digit' });
}

/** The phone's own day, 2026-08-27. */
export function dayOf(ms) {
  const d = new Date(ms);
  const two = (n) => String(n).padStart(2, '0');
  return `${d.getFullYear()}-${two(d.getMonth() + 1)}-${two(d.getDate())}`;
}

/** Thu, Aug 27 */
export function dayName(day) {
  return new Date(`${day}T12:00:00`).toLocaleDateString([], { weekday: 'short', month: 'short', day: 'numeric' });
}

/** 10:42, or with the day in front when it was another day. */
export function when(ms, now) {
  return dayOf(ms) === dayOf(now) ? clockTime(ms) : `${dayName(dayOf(ms))}, ${clockTime(ms)}`;
}

/** How long, roughly: 5 min, 3 h, 2 days. @param {Say} say */
export function span(say, ms) {
  const minutes = Math.max(1, Math.round(ms / 60_000));
  if (minutes < 60) return say('span.minutes', { n: minutes });
  const hours = Math.round(minutes / 60);
  return hours < 48 ? say('span.hours', { n: hours }) : say('span.days', { n: Math.round(hours / 24) });
}

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

/** The languages of the phone; the first is the one its pages are made in. */
export const LANGS = ['en', 'es'];

const spokenHere = (lang) => (LANGS.includes(lang) ? lang : LANGS[0]);

/**
 * The language of whoever holds this phone: what they chose on it, else what the office has for them. A choice ends when
 * the office's own changes. Before anybody signed in it is the browser's.
 * @param {{me?: {id: string, lang: string}, lang?: {person: string, was: string, lang: string}}} known
 */
export function langOf({ me, lang }) {
  if (!me) return spokenHere((globalThis.navigator?.language ?? '').slice(0, 2));
  return spokenHere(lang?.person === me.id && lang.was === me.lang ? lang.lang : me.lang);
}

/** @type {Map<string, Promise<Say>>} */
const loaded = new Map();

/** @param {string} lang @returns {Promise<Say>} */
export function loadSay(lang) {
  const say = loaded.get(lang) ?? fetchSay(lang);
  loaded.set(lang, say);
  say.catch(() => loaded.delete(lang));
  return say;
}

/** @param {string} lang @returns {Promise<Say>} */
async function fetchSay(lang) {
  const parts = await Promise.all(['common', 'field'].map(async (name) => (await fetch(`/static/text/${lang}.${name}.json`)).json()));
  return makeSay(Object.assign({}, ...parts));
}

/** A text of the catalogue in the language shown. @param {{en?: string, es?: string}|undefined} text @param {string} lang */
export function textIn(text, lang) {
  return (lang === 'es' && text?.es) || text?.en || '';
}

/** Days and times in the language of the page; in English as the phone is set. */
const locale = () => (globalThis.document?.documentElement?.lang === 'es' ? 'es-US' : []);

/** 10:42 as the phone writes it. */
export function clockTime(ms) {
  return new Date(ms).toLocaleTimeString(locale(), { hour: 'numeric', minute: '2-digit' });
}

/** The phone's own day, 2026-08-27. */
export function dayOf(ms) {
  const d = new Date(ms);
  const two = (n) => String(n).padStart(2, '0');
  return `${d.getFullYear()}-${two(d.getMonth() + 1)}-${two(d.getDate())}`;
}

/** Thu, Aug 27 */
export function dayName(day) {
  return new Date(`${day}T12:00:00`).toLocaleDateString(locale(), { weekday: 'short', month: 'short', day: 'numeric' });
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

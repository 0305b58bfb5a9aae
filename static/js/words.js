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
/** What has been read of them. @type {Map<string, Say>} */
const texts = new Map();

/** @param {string} lang @returns {Promise<Say>} */
export function loadSay(lang) {
  const say = loaded.get(lang) ?? fetchSay(lang);
  loaded.set(lang, say);
  say.then((read) => texts.set(lang, read), () => loaded.delete(lang));
  return say;
}

/** @param {string} lang @returns {Promise<Say>} */
async function fetchSay(lang) {
  const parts = await Promise.all(['common', 'field'].map(async (name) => (await fetch(new URL(`../text/${lang}.${name}.json`, import.meta.url))).json()));
  return makeSay(Object.assign({}, ...parts));
}

/** A text of the catalogue in the language shown. @param {{en?: string, es?: string}|undefined} text @param {string} lang */
export function textIn(text, lang) {
  return (lang === 'es' && text?.es) || text?.en || '';
}

/** As much of a typed text as a sentence can hold. @param {string} text */
export const short = (text) => ([...text].length > 40 ? `${[...text].slice(0, 40).join('')}…` : text);

/** The texts of the language shown. A browser's own names of days take a cheap phone a tenth of a second to get ready. */
const here = () => texts.get(globalThis.document?.documentElement?.lang ?? '') ?? texts.values().next().value ?? makeSay({});

/** Where English is spoken and the day has twice twelve hours. */
const TWELVE = /^en(-(US|CA|AU|NZ|IN|PH))?$/;

/** 10:42 as the phone writes it. */
export function clockTime(ms) {
  const d = new Date(ms);
  const [hour, minute] = [d.getHours(), String(d.getMinutes()).padStart(2, '0')];
  const own = globalThis.navigator?.language ?? '';
  if (own.startsWith('en') && !TWELVE.test(own)) return `${String(hour).padStart(2, '0')}:${minute}`;
  return here()(hour < 12 ? 'time.am' : 'time.pm', { time: `${hour % 12 || 12}:${minute}` });
}

/** The phone's own day, 2026-08-27. */
export function dayOf(ms) {
  const d = new Date(ms);
  const two = (n) => String(n).padStart(2, '0');
  return `${d.getFullYear()}-${two(d.getMonth() + 1)}-${two(d.getDate())}`;
}

/** Thu, Aug 27 */
export function dayName(day) {
  const d = new Date(`${day}T12:00:00`);
  const say = here();
  const [weekday, month] = [['time.weekdays', d.getDay()], ['time.months', d.getMonth()]].map(([key, at]) => say(key).split(' ')[at]);
  return say('time.day', { weekday, month, day: d.getDate() });
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

/** Why the office has set a record aside, in the person's language: the office's own sentence is English and names more. @param {{code: string, say: string}} mark @param {Say} say @param {string} lang */
export function asideSays(mark, say, lang) {
  const key = `aside.${mark.code}`, own = say(key);
  return mark.say && (lang === 'en' || own === key) ? mark.say : own;
}

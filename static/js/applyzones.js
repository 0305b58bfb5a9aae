// One zone of the record of what was put down: its amount, the unit, the area that was treated, and what that makes.

import { areaText, readArea } from './area.js';
import { el, mark } from './dom.js';
import { read } from './read.js';
import { amountCheck } from './record.js';
import { crew, unitWords } from './units.js';
import { amountSays, rateSays } from './work.js';
import { short, textIn } from './words.js';

const LONGEST = 60; // characters of an amount

/**
 * The inputs of one zone. @param {any} zone @param {{typed: string, unit: string, area: string}|undefined} had what stood there before
 * @param {{say: import('./words.js').Say, lang: string, metric: boolean, check: any, plan: {value: number, unit: string}|undefined}} parts
 */
export function zoneRow(zone, had, { say, lang, metric, check, plan }) {
  const ground = unitWords(metric ? 'm2' : 'ft2');
  const row = {
    zone, check, metric,
    amount: el('input', { inputmode: 'decimal', 'data-field': 'amount', 'aria-label': say('apply.zone_amount_of', { zone: zone.name }) }),
    unit: el('select', { class: 'input', 'aria-label': say('check.unit') }, check.units.map((u) => el('option', { value: u.id }, textIn(u.label, lang)))),
    area: el('input', { inputmode: 'decimal', 'data-field': 'area', 'aria-label': say('apply.zone_area_of', { zone: zone.name, unit: ground }) }),
    said: el('p', { class: 'soft', role: 'status' }),
  };
  row.amount.value = had?.typed ?? '';
  row.unit.value = had?.unit || usualUnit(check, metric);
  if (row.unit.selectedIndex < 0) row.unit.value = usualUnit(check, metric); // of a material that is measured otherwise
  row.whole = areaText(zone.area_sqft, metric);
  row.area.value = had?.area ?? row.whole;
  row.box = el('div', { class: 'zone-row', 'data-zone': zone.id }, el('b', {}, zone.name), plan ? el('span', { class: 'soft' }, say('apply.plan_amount', { amount: amountSays(plan.value, plan.unit, metric) })) : null,
    el('div', { class: 'amounts' }, el('label', { class: 'small' }, el('span', {}, say('apply.zone_amount')), row.amount), row.unit,
      el('label', { class: 'small' }, el('span', {}, say('apply.zone_area', { unit: ground })), row.area)), row.said);
  return row;
}

/** Says under the inputs what is wrong, or the rate and the label's most. @param {any} z @param {{say: import('./words.js').Say, unit: string, limit: number|undefined}} parts */
export function zoneSays(z, { say, unit, limit }) {
  const typed = typedOf(z, unit);
  const { problems, value } = typed.trim() === '' ? { problems: [], value: {} } : typed.length > LONGEST ? { problems: [{ code: 'too_long', params: { high: LONGEST } }], value: {} } : read(z.check, typed);
  const bad = problems.filter((p) => !p.ask);
  const area = areaOf(z);
  const vague = z.area.value.trim() !== '' && Number.isNaN(area);
  mark([z.amount], z.said, bad.length > 0);
  mark([z.area], z.said, vague);
  z.said.className = bad.length > 0 || vague ? 'problem-text' : 'soft';
  if (bad.length > 0 || vague) {
    z.said.replaceChildren(...[bad.length > 0 ? say(`problem.${bad[0].code}`, bad[0].params ?? {}) : '', vague ? say('apply.zone_bad_area', { text: short(z.area.value.trim()) }) : ''].filter(Boolean).flatMap((text) => [el('span', {}, text), ' ']));
    return;
  }
  const rate = value.numbers?.[0] && area ? rateSays(say, (value.numbers[0] / area) * 1000, `${unit}/1000 ft2`, z.metric) : '';
  z.said.textContent = [rate, limit ? say('apply.most', { limit: rateSays(say, limit, `${unit}/1000 ft2`, z.metric) }) : ''].filter(Boolean).join(' · ');
}

/** The firm's unit for an amount: what its side has for the material's own. @param {any} check @param {boolean} metric */
function usualUnit(check, metric) {
  const { unit } = crew(1, check.units[0].id, metric);
  const big = { g: 'kg', mL: 'L' }[unit] && ['lb', 'gal', 'qt', 'pt'].includes(check.units[0].id) ? { g: 'kg', mL: 'L' }[unit] : unit;
  return check.units.some((u) => u.id === big) ? big : check.units[0].id;
}

/** Square feet of a zone's area. One that nobody touched is the zone's own, to the last digit. @param {any} z */
export function areaOf(z) {
  return z.area.value === z.whole && z.whole !== '' ? z.zone.area_sqft : readArea(z.area.value, z.metric);
}

/** The area as typed, where it has a unit of its own or the firm's is another than square feet; '' else. @param {any} z */
export function areaTyped(z) {
  const text = z.area.value.trim();
  if (text === '' || text === z.whole) return '';
  if (Number.isNaN(areaOf(z))) return text; // it goes along as it was typed
  return /[a-z]/i.test(text) ? text : z.metric ? `${text} m²` : '';
}

/** The amount as typed, with the unit beside it unless it is the material's own. */
export function typedOf(z, own) {
  const text = z.amount.value.trim();
  if (text === '' || /[a-zA-Z]/.test(text)) return text;
  return z.unit.value === own ? text : `${text} ${z.unit.value}`;
}

/** Parts a kept text into the number and the unit typed with it. */
export function splitAmount(typed, book, own) {
  const ids = amountCheck(book, own).units.map((u) => u.id).sort((a, b) => b.length - a.length);
  const unit = ids.find((id) => typed.toLowerCase().endsWith(` ${id.toLowerCase()}`)) ?? '';
  return unit ? [typed.slice(0, -unit.length).trim(), unit] : [typed, ''];
}

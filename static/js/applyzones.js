// One zone of the record of what was put down: its amount, the unit, the area that was treated, and what that makes.

import { readArea } from './area.js';
import { el } from './dom.js';
import { read } from './read.js';
import { amountCheck } from './record.js';
import { figure } from './work.js';
import { textIn } from './words.js';

/**
 * The inputs of one zone. @param {any} zone @param {{typed: string, area: string}|undefined} had what stood there before
 * @param {{say: import('./words.js').Say, lang: string, check: any, plan: {value: number, unit: string}|undefined}} parts
 */
export function zoneRow(zone, had, { say, lang, check, plan }) {
  const row = {
    zone, check,
    amount: el('input', { inputmode: 'decimal', maxlength: 60, 'aria-label': say('apply.zone_amount_of', { zone: zone.name }), 'aria-describedby': `said-${zone.id}` }),
    unit: el('select', { class: 'input', 'aria-label': say('check.unit') }, check.units.map((u) => el('option', { value: u.id }, textIn(u.label, lang)))),
    area: el('input', { inputmode: 'decimal', maxlength: 12, 'aria-label': say('apply.zone_area_of', { zone: zone.name }) }),
    said: el('p', { class: 'soft', id: `said-${zone.id}`, role: 'status' }),
  };
  row.amount.value = had?.typed ?? '';
  row.area.value = had?.area ?? (zone.area_sqft ? String(Math.round(zone.area_sqft)) : '');
  row.box = el('div', { class: 'zone-row', 'data-zone': zone.id }, el('b', {}, zone.name), plan ? el('span', { class: 'soft' }, say('apply.plan_amount', { amount: `${figure(plan.value)} ${plan.unit}` })) : null,
    el('div', { class: 'amounts' }, el('label', { class: 'small' }, el('span', {}, say('apply.zone_amount')), row.amount), row.unit,
      el('label', { class: 'small' }, el('span', {}, say('apply.zone_area')), row.area)), row.said);
  return row;
}

/** Says under the inputs what is wrong, or the rate and the label's most. @param {any} z @param {{say: import('./words.js').Say, unit: string, limit: number|undefined}} parts */
export function zoneSays(z, { say, unit, limit }) {
  const typed = typedOf(z, unit);
  const { problems, value } = typed.trim() === '' ? { problems: [], value: {} } : read(z.check, typed);
  const bad = problems.filter((p) => !p.ask);
  z.amount.toggleAttribute('aria-invalid', false);
  if (bad.length > 0) {
    z.amount.setAttribute('aria-invalid', 'true');
    z.said.textContent = say(`problem.${bad[0].code}`, bad[0].params ?? {});
    return;
  }
  const area = readArea(z.area.value);
  if (z.area.value.trim() !== '' && Number.isNaN(area)) {
    z.said.textContent = say('apply.zone_bad_area', { text: z.area.value });
    return;
  }
  const rate = value.numbers?.[0] && area ? say('apply.rate', { rate: figure((value.numbers[0] / area) * 1000), unit }) : '';
  z.said.textContent = [rate, limit ? say('apply.most', { limit: `${figure(limit)} ${unit}` }) : ''].filter(Boolean).join(' · ');
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

// Everything the office has not received yet, and the ways to get it there.

import { boot } from './shell.js';
import { el, part, show } from './dom.js';
import { copyParts, handOver } from './copy.js';
import { blank, spoken } from './view.js';
import { asideSays, counted, dayOf, span, when } from './words.js';

const SHOWN = 500;

/** @param {any} view @param {any} row */
function aboutRow(page, view, row) {
  const { say, lang } = page;
  const b = row.op.body;
  const visit = view.visits.get(b.visit);
  const place = [view.place(visit).property?.address, view.zones.get(b.zone)?.name].filter(Boolean).join(', ');
  if (row.op.form === 'zone') return { title: say('unsent.zone', { name: b.name }), place };
  if (row.op.form === 'visit') return { title: say('unsent.visit', { state: say(`state.${b.state}`) }), place };
  if (row.op.form === 'application') return { title: say('unsent.application', { name: b.name }), place };
  if (row.op.form === 'calibration') return { title: say('unsent.calibration', { name: b.equipment }), place: '' };
  const check = view.known.knowledge?.body.checks.find((c) => c.id === b.check);
  const label = check ? (lang === 'es' && check.label.es) || check.label.en : b.check;
  const text = check ? spoken(check, b.typed, lang) : b.typed;
  return { title: blank(b.typed) ? `${label}: ${say('check.not_looked')}` : [label, text].filter(Boolean).join(': '), place };
}

/** The state of a row in a sign and a word. */
function standing(page, row, waiting) {
  const { say } = page;
  const mark = page.marks[row.op.id];
  if (mark) return { sign: '⚠', word: asideSays(mark, say, page.lang), name: 'look' };
  if (!waiting) return { sign: '●', word: say('unsent.received'), name: 'got' };
  return page.foot.busy ? { sign: '◐', word: say('unsent.sending'), name: 'going' } : { sign: '○', word: say('unsent.here'), name: 'here' };
}

function item(page, view, row, waiting, photos) {
  const { sign, word, name } = standing(page, row, waiting);
  const { title, place } = aboutRow(page, view, row);
  const mine = row.op.photos.map((p) => photos.get(p.sha)).filter(Boolean);
  const refused = mine.some((p) => p.refused) ? page.say('unsent.photo_refused') : '';
  const sent = mine.length > 0 ? page.say('unsent.photos', { sent: mine.filter((p) => p.done).length, n: mine.length }) : '';
  return el('li', { class: `item ${name}` }, el('span', { class: 'sign', 'aria-hidden': 'true' }, sign),
    el('span', { class: 'row-text' }, el('b', {}, title), el('span', { class: 'soft' }, [place, when(row.saved, Date.now())].filter(Boolean).join(' · ')),
      el('span', { class: 'word' }, [word, sent, refused].filter(Boolean).join(' · '))));
}

async function draw(page, view) {
  const { say } = page;
  page.marks = view.known.marks;
  const photos = new Map((await page.db.read(['photos'], (tx) => tx.all('photos'))).map((p) => [p.sha, p]));
  const { acked, rows } = view.known;
  const waits = (row) => row.device === undefined && row.n > acked.through;
  const photoWaits = (row) => row.op.photos.some((p) => photos.has(p.sha) && !photos.get(p.sha).done);
  const today = dayOf(Date.now());
  const open = rows.filter((r) => waits(r) || photoWaits(r));
  const aside = rows.filter((r) => !open.includes(r) && page.marks[r.op.id]);
  const got = rows.filter((r) => !open.includes(r) && !aside.includes(r) && dayOf(r.saved) === today);
  const list = (title, some) => (some.length === 0 ? null : el('section', {}, el('h2', {}, title),
    el('ul', { class: 'rows' }, some.slice(-SHOWN).reverse().map((r) => item(page, view, r, waits(r), photos)))));
  show(part('list'), open.length === 0 ? el('p', { class: 'empty' }, say('unsent.none')) : null,
    list(counted(say, 'unsent.open', open.length), open), list(counted(say, 'unsent.aside', aside.length), aside), list(say('unsent.got'), got));
  await summary(page, view);
}

async function summary(page, view) {
  const { say } = page;
  const { sync, acked } = view.known;
  const { device } = await page.outbox.state();
  const result = sync ? say(`sync.${sync.result}`) : say('sync.never');
  show(part('sum'), el('p', {}, sync ? say('unsent.last', { time: when(sync.at, Date.now()), result }) : result));
  const kept = await page.db.read(['meta'], (tx) => tx.get('meta', 'persisted'));
  const skew = Math.abs(view.known.skew) > 120_000 ? say(view.known.skew > 0 ? 'unsent.clock_behind' : 'unsent.clock_ahead', { span: span(say, Math.abs(view.known.skew)) }) : '';
  show(part('phone'), device ? el('p', {}, say('unsent.device', { name: device.slice(0, 8) })) : null,
    acked.at ? el('p', {}, say('unsent.acked', { time: when(acked.at, Date.now()) })) : null,
    kept === false ? el('p', {}, say('unsent.may_clear')) : null, skew ? el('p', { class: 'note' }, skew) : null);
}

function acts(page) {
  const said = part('said');
  part('send').addEventListener('click', async () => {
    said.textContent = page.say('sync.busy');
    const result = await page.syncer.tapped();
    said.textContent = page.say(`sync.${result}`);
  });
  part('copy').addEventListener('click', async () => {
    try {
      const { parts, rows } = await copyParts(page.outbox, document.querySelector('[data-build]').dataset.build);
      await handOver(parts, `swardbook-${dayOf(Date.now())}.json`);
      said.textContent = counted(page.say, 'unsent.copied', rows);
    } catch (err) {
      said.textContent = page.say('unsent.copy_failed', { why: err?.message ?? '' });
    }
  });
}

/** Signing out needs the office, which ends the session; what is kept on this phone stays where it is. */
function leave(page) {
  for (const button of document.querySelectorAll('[data-out]')) {
    button.addEventListener('click', async () => {
      const answer = await fetch(button.dataset.out, { method: 'POST', redirect: 'manual' }).catch(() => null);
      if (answer?.type === 'opaqueredirect') location.assign('/sign-in?next=/field/');
      else part('out-said').textContent = page.say('out.failed');
    });
  }
}

let bound = false;
boot('unsent', {
  draw: async (page, view) => {
    if (!bound) {
      acts(page);
      leave(page);
    }
    bound = true;
    await draw(page, view);
  },
});

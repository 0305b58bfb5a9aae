// What a person who fills in the first zone is shown: a few short steps between what it may be and the form, which stands there and takes answers all the while.
// It is shown until it is gone through or skipped, to each person once on a phone, and again when asked for.

import { el } from './dom.js';

const STEPS = ['walkthrough.sofar', 'walkthrough.answer', 'walkthrough.how', 'walkthrough.photo', 'walkthrough.enough'];
const KEY = 'walked';

/** Whether a person has gone through it, or skipped it, on this phone. @param {any} known  what the phone knows */
export const walked = (known) => Boolean(known.walked?.[known.me?.id]);

/**
 * Remembers that a person needs it no more, or wants it again.
 * @param {any} db @param {string} person @param {boolean} yes
 */
export function remember(db, person, yes) {
  return db.note(['meta'], async (/** @type {any} */ tx) => tx.put('meta', { ...(await tx.get('meta', KEY)), [person]: yes }, KEY));
}

/** The steps of it, one at a time. @param {import('./shell.js').Page} page @param {string} person @returns {HTMLElement} */
export function walkthrough(page, person) {
  const { say } = page;
  let at = 0;
  const end = () => {
    remember(page.db, person, true).catch(() => {}); // it is shown once more then
    box.remove();
    const head = page.part('title');
    head.tabIndex = -1;
    head.focus({ preventScroll: true });
  };
  const turn = (/** @type {number} */ by) => {
    at += by;
    if (at < STEPS.length) draw();
    else end();
  };
  const title = el('h2', { id: 'walk-title' });
  const text = el('p', { 'aria-live': 'polite' });
  const next = el('button', { type: 'button', class: 'btn', 'data-walk-next': true, onclick: () => turn(1) });
  const back = el('button', { type: 'button', class: 'btn plain', 'data-walk-back': true, onclick: () => { turn(-1); if (at === 0) next.focus(); } }, say('walkthrough.back'));
  const skip = el('button', { type: 'button', class: 'btn plain', 'data-walk-skip': true, onclick: end }, say('walkthrough.skip'));
  const draw = () => {
    title.textContent = say('walkthrough.title', { n: at + 1, all: STEPS.length });
    text.textContent = say(STEPS[at]);
    next.textContent = say(at === STEPS.length - 1 ? 'walkthrough.done' : 'walkthrough.next');
    back.hidden = at === 0;
    skip.hidden = at === STEPS.length - 1;
  };
  const box = el('section', { class: 'note done walkthrough', 'data-walkthrough': true, 'aria-labelledby': title.id }, title, text, el('div', { class: 'btns' }, next, back, skip));
  draw();
  return box;
}

// The worker that weighs beside the page, so that a touch never waits for it. Tables that make answers faster are made between questions.

import { packed, thinker } from './thinker.js';

/** @type {((what: string, about: any) => any)|null} */
let think = null;

/** One table more, then whatever was asked meanwhile, then the next. @param {any} about */
function warm(about) {
  if (think?.('warm', about)) setTimeout(() => warm(about), 0);
}

self.onmessage = ({ data: { n, what, about } }) => {
  try {
    if (what === 'begin') think = thinker(about);
    else if (what === 'warm') warm(about);
    else self.postMessage({ n, answer: think?.(what, about) });
  } catch (err) {
    self.postMessage({ n, fault: packed(err) });
  }
};

// What is asked of the engine, wherever it runs: in a worker of its own, or in the page.

import { makeEngine } from './diagnose.js';

/** Answers questions about one knowledge. @param {{body?: any, text?: string, edition: string}} knowledge @returns {(what: string, about: any) => any} */
export function thinker({ text, body = JSON.parse(text ?? ''), edition }) {
  const engine = makeEngine(body, edition);
  /** @type {Record<string, (about: any) => any>} */
  const answers = { weigh: (c) => engine.diagnose(c), property: (zones) => engine.property(zones), warm: (c) => engine.warm(c) };
  return (what, about) => answers[what](about);
}

/** What is left of a fault on its way between two threads. @param {any} err */
export const packed = (err) => ({ name: err?.name ?? 'Error', message: err?.message ?? '', findings: err?.findings });

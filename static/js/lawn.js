// The sketch of a property's zones, as the office drew it: north up, to one scale, and none where nothing is drawn.

import { svg } from './dom.js';

const SIDE = 400; // units of the office's sketch, geo.SketchSide

/**
 * @typedef {{id: string, name: string, shape?: {points: string, x: number, y: number}}} Drawn
 * @param {(key: string) => string} say @param {Drawn[]} zones @param {(zone: string) => boolean} done @returns {SVGElement | null}
 */
export function lawn(say, zones, done) {
  const drawn = zones.filter((z) => z.shape);
  if (drawn.length === 0) return null;
  return svg('svg', { class: 'lawn', viewBox: `0 0 ${SIDE} ${SIDE}`, role: 'img', 'aria-label': say('visit.sketch') },
    drawn.map((z) => svg('polygon', { points: z.shape?.points, class: done(z.id) ? 'done' : '' })),
    drawn.map((z) => svg('text', { x: z.shape?.x, y: z.shape?.y }, z.name)),
    svg('path', { class: 'north', d: 'M380 40 L373 60 L380 55 L387 60 Z' }), svg('text', { x: 380, y: 34 }, 'N'));
}

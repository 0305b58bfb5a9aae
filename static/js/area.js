// Square feet as a person types them.

/** Square feet as typed; a comma parts thousands here, since nobody measures a lawn to a fraction of a foot. */
export function readArea(text) {
  const m = /^(\d{1,3}(?:,\d{3})+|\d+)(?:\.\d+)?$/.exec(String(text).replace(/[\s\u00a0\u202f]/g, ''));
  const n = m ? Number(m[1].replaceAll(',', '')) : NaN;
  return n > 0 && n < 10_000_000 ? n : NaN;
}

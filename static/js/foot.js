// The line at the foot that always says what is kept on this phone and what the office has received.

import { banner, part } from './dom.js';
import { counted, span, when } from './words.js';

const DAY = 24 * 3600_000;

/** The two halves of the line. @param {import('./words.js').Say} say */
export function footLine(say, { kept, received, unsent, oldest, at, photos = 0 }, busy, now) {
  const time = at ? when(at, now) : '';
  const more = photos > 0 ? ` · ${counted(say, 'foot.photos', photos)}` : '';
  if (kept === 0) return { first: say(at ? 'foot.nothing' : 'foot.none_yet'), second: at ? say('foot.asked', { time }) : '' };
  if (unsent === 0) return { first: say('foot.all', { n: received, time }), second: more.replace(/^ · /, '') };
  const first = counted(say, 'foot.kept', kept);
  const state = busy ? say('foot.sending') : say('foot.oldest', { span: span(say, now - oldest) });
  return { first, second: `${say(received > 0 ? 'foot.received' : 'foot.received_none', { n: received, time })} · ${state}${more}` };
}

export class Foot {
  /** @param {import('./outbox.js').Outbox} outbox @param {import('./words.js').Say} say */
  constructor(outbox, say) {
    Object.assign(this, { outbox, say, busy: false, also: null });
    globalThis.setInterval(() => this.refresh(), 30_000);
    document.addEventListener('visibilitychange', () => this.refresh());
  }

  /** What was asked last is what shows: counts that come after newer ones were asked for are let go. */
  async refresh() {
    const turn = this.turn = (this.turn ?? 0) + 1;
    const now = Date.now();
    const midnight = new Date(now).setHours(0, 0, 0, 0);
    try {
      const counts = await this.outbox.counts(midnight);
      if (this.also) add(counts, await this.also.counts(midnight));
      const photos = (await this.outbox.db.read(['photos'], (tx) => tx.all('photos'))).filter((p) => !p.done).length;
      if (turn !== this.turn) return;
      const { first, second } = footLine(this.say, { ...counts, photos }, this.busy, now);
      put(part('kept'), first);
      put(part('received'), second);
      if (counts.unsent > 0 && now - counts.oldest > 3 * DAY) banner('old', this.say('shell.old', { span: span(this.say, now - counts.oldest) }));
      else banner('old');
    } catch {
      put(part('kept'), this.say('foot.unknown'));
    }
  }
}

/** Changes a text only when it differs, so that it is read out once. */
function put(node, text) {
  if (node && node.textContent !== text) node.textContent = text;
}

function add(sum, more) {
  sum.kept += more.kept;
  sum.unsent += more.unsent;
  sum.oldest = Math.min(sum.oldest, more.oldest);
}


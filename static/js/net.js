// One way to speak to the office. Only an answer in our own form counts; everything else is no answer at all.

/** Why a sync stopped. kind: "sign-in", "outdated", "busy_office", "no-answer", "no-room". wait: milliseconds the office asked for. */
export class Stop extends Error {
  /** @param {string} kind @param {number} [wait] @param {number} [status] */
  constructor(kind, wait = 0, status = 0) {
    super(kind);
    this.kind = kind;
    this.wait = wait;
    this.status = status;
  }
}

/** Milliseconds a request may take: 20 s and 1 s for each 10 KB. @param {number} bytes */
export const limitFor = (bytes) => 20_000 + (bytes / 10_240) * 1000;

/** @typedef {{status: number, headers: Headers, json: any, bytes: ArrayBuffer|null, text?: string}} Answer */

export class Net {
  /** @param {{fetch?: typeof fetch, now?: () => number, setTimer?: typeof setTimeout, clearTimer?: typeof clearTimeout}} [world] */
  constructor({ fetch = (...a) => globalThis.fetch(...a), now = Date.now, setTimer = (f, ms) => setTimeout(f, ms), clearTimer = (t) => clearTimeout(t) } = {}) {
    this.fetch = fetch;
    this.now = now;
    this.setTimer = setTimer;
    this.clearTimer = clearTimer;
  }

  /**
   * Sends one request and reads the whole answer within its limit. Throws Stop for no answer, sign in, busy, outdated.
   * @param {string} url @param {RequestInit & {size?: number, raw?: boolean}} [init]  raw: the text of an answer as it came @returns {Promise<Answer>}
   */
  async call(url, init = {}) {
    const cut = new AbortController();
    const timer = this.setTimer(() => cut.abort(), limitFor(init.size ?? 0));
    try {
      const response = await this.fetch(url, { cache: 'no-store', credentials: 'same-origin', redirect: 'error', ...init, signal: cut.signal });
      return this.judge(await whole(response, init.raw === true));
    } catch (err) {
      if (err instanceof Stop) throw err;
      throw new Stop('no-answer');
    } finally {
      this.clearTimer(timer);
    }
  }

  /** @param {Answer} answer @returns {Answer} */
  judge(answer) {
    const { status, headers, json } = answer;
    const ours = json !== null && typeof json.error === 'string';
    if (status === 401 && ours) throw new Stop('sign-in', 0, status);
    if (status === 426 && ours) throw new Stop('outdated', 0, status);
    if (status === 429 || status === 503) throw new Stop('busy_office', retryAfter(headers.get('Retry-After'), this.now()), status);
    return answer;
  }
}

/** @param {Response} response @param {boolean} raw @returns {Promise<Answer>} */
async function whole(response, raw) {
  if (response.redirected) throw new Stop('no-answer');
  const { status, headers } = response;
  const type = headers.get('Content-Type') ?? '';
  if (raw && status === 200) return { status, headers, json: null, bytes: null, text: type.startsWith('application/json') ? await response.text() : '' };
  if (type.startsWith('application/json')) return { status, headers, json: await parsed(response), bytes: null };
  return { status, headers, json: null, bytes: await response.arrayBuffer() };
}

/** A body that is not the object it claims to be is no answer. @param {Response} response */
async function parsed(response) {
  const text = await response.text();
  if (text === '') return null;
  const value = JSON.parse(text);
  return value && typeof value === 'object' ? value : null;
}

/** Retry-After as milliseconds: seconds or a date; 0 when missing or unreadable. */
export function retryAfter(text, now) {
  if (!text) return 0;
  if (/^\d+$/.test(text)) return Number(text) * 1000;
  const at = Date.parse(text);
  return Number.isFinite(at) ? Math.max(0, at - now) : 0;
}

/** @param {any} v */
export const whole0 = (v) => Number.isSafeInteger(v) && v >= 0;

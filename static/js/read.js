// What a typed text means: the same reading as the server's, character by character, so that a phone without signal
// and the office never differ. testdata/vectors/read.json holds both to one meaning.

/**
 * @typedef {{id: string, mul: number, div: number, plus?: number}} Unit
 * @typedef {{low: number, high: number}} Bounds
 * @typedef {{id: string, kind: string, options?: {id: string}[], none?: string, units?: Unit[],
 *   hard?: Bounds, usual?: Bounds}} Check
 * @typedef {{blank?: boolean, state?: string, present?: string[], absent?: string[], numbers?: number[],
 *   unit?: string, text?: string, sha?: string}} Value
 * @typedef {{check: string, code: string, params?: Record<string, string>, ask?: boolean}} Problem
 * @typedef {{value: Value, problems: Problem[]}} Reading
 * @typedef {{negative: boolean, num: number, den: number}} Fraction
 */

const maxNote = 4000;
const maxNumbers = 60;
const maxPlaces = 12;
const maxQuoted = 40;
const maxExact = 2 ** 53;

// The characters that count as space. String.prototype.trim has another idea of them.
const blanks = " \t\u00a0\u202f\u2009\r\n";

/** @type {Record<string, [number, number]>} */
const glyphs = {
  "½": [1, 2], "¼": [1, 4], "¾": [3, 4], "⅓": [1, 3], "⅔": [2, 3], "⅛": [1, 8], "⅜": [3, 8], "⅝": [5, 8], "⅞": [7, 8],
};

/**
 * Reads what a person typed for a check. With a problem that is not only a question (ask) the value is empty.
 * @param {Check} check
 * @param {string} typed
 * @returns {Reading}
 */
export function read(check, typed) {
  const text = trim(typed);
  if (text === "" || text === "-") return { value: { blank: true }, problems: [] };
  switch (check.kind) {
    case "choice":
      return readChoice(check, text);
    case "signs":
      return readSigns(check, text);
    case "measure":
      return readNumbers(check, [text]);
    case "repeated":
    case "count":
      return readNumbers(check, text.split(";"));
    case "mix":
      return readMix(check, text);
    case "place":
      return readPlaces(check, text);
    case "note":
      return readNote(check, typed);
    case "photo":
      return readPhoto(check, text);
  }
  return refused([{ check: check.id, code: "unknown_check" }]);
}

/** @param {string} text */
function trim(text) {
  let from = 0;
  let to = text.length;
  while (from < to && blanks.includes(text[from])) from++;
  while (to > from && blanks.includes(text[to - 1])) to--;
  return text.slice(from, to);
}

/** @param {Problem[]} problems @returns {Reading} */
function refused(problems) {
  return { value: {}, problems };
}

/** @param {Check} check @param {string} id */
function hasOption(check, id) {
  return (check.options ?? []).some((option) => option.id === id);
}

/** @param {Check} check @param {string} code @param {string} text @returns {Problem & {params: Record<string, string>}} */
function quoted(check, code, text) {
  const all = [...text];
  const cut = all.length > maxQuoted ? all.slice(0, maxQuoted).join("") + "…" : text;
  return { check: check.id, code, params: { text: cut } };
}

/** @param {Check} check @param {string} text @returns {Reading} */
function readChoice(check, text) {
  if (!hasOption(check, text)) return refused([quoted(check, "unknown_option", text)]);
  return { value: { state: text }, problems: [] };
}

/** @param {Check} check @param {string} text @returns {Reading} */
function readSigns(check, text) {
  /** @type {Map<string, boolean>} */
  const said = new Map();
  let rest = false;
  /** @type {Problem[]} */
  const problems = [];
  const words = fields(text);
  for (const word of words) {
    const absent = word.startsWith("-");
    const id = absent ? word.slice(1) : word;
    if (word === "only" || (word === check.none && words.length === 1)) rest = true;
    else if (!hasOption(check, id)) problems.push(quoted(check, "unknown_option", word));
    else if (id === check.none || said.get(id) === absent) problems.push(quoted(check, "unreadable", word));
    else said.set(id, !absent);
  }
  if (problems.length > 0) return refused(problems);
  return { value: signs(check, said, rest), problems: [] };
}

/** @param {string} text */
function fields(text) {
  const words = [];
  let word = "";
  for (const c of text + " ") {
    if (!blanks.includes(c)) word += c;
    else if (word !== "") {
      words.push(word);
      word = "";
    }
  }
  return words;
}

/** @param {Check} check @param {Map<string, boolean>} said @param {boolean} rest @returns {Value} */
function signs(check, said, rest) {
  const ids = (check.options ?? []).map((option) => option.id).filter((id) => id !== check.none);
  const present = ids.filter((id) => said.get(id) === true);
  const absent = ids.filter((id) => said.get(id) === false || (rest && !said.has(id)));
  /** @type {Value} */
  const value = {};
  if (present.length > 0) value.present = present;
  if (absent.length > 0) value.absent = absent;
  return value;
}

/** @param {Check} check @param {string} typed @returns {Reading} */
function readNote(check, typed) {
  if ([...typed].length > maxNote) return refused([tooLong(check, maxNote)]);
  return { value: { text: typed }, problems: [] };
}

/** @param {Check} check @param {number} most @returns {Problem} */
function tooLong(check, most) {
  return { check: check.id, code: "too_long", params: { high: String(most) } };
}

/** @param {Check} check @param {string} text @returns {Reading} */
function readPhoto(check, text) {
  if (!/^[0-9a-fA-F]{64}$/.test(text)) return refused([quoted(check, "unreadable", text)]);
  return { value: { sha: lower(text) }, problems: [] };
}

/** Folds the letters A to Z only. @param {string} text */
function lower(text) {
  return text.replace(/[A-Z]/g, (c) => String.fromCharCode(c.charCodeAt(0) + 32));
}

/** The share of each: "a 10; b 2 1/2". @param {Check} check @param {string} text @returns {Reading} */
function readMix(check, text) {
  const units = check.units ?? [];
  if (units.length === 0) return refused([{ check: check.id, code: "unknown_check" }]);
  if (text === check.none) return { value: { numbers: [0] }, problems: [] };
  /** @type {Problem[]} */
  const problems = [];
  /** @type {string[]} */
  const present = [];
  /** @type {number[]} */
  const numbers = [];
  let total = 0;
  for (const piece of text.split(";").map(trim)) {
    const got = share(check, piece, units[0]);
    if (Array.isArray(got)) problems.push(...got);
    else if (present.includes(got.id)) problems.push(quoted(check, "unreadable", piece));
    else {
      present.push(got.id);
      numbers.push(got.n);
      total += got.n;
    }
  }
  if (problems.length === 0 && check.hard && total > check.hard.high) {
    const problem = quoted(check, "too_much", String(total));
    Object.assign(problem.params, { high: String(check.hard.high), unit: units[0].id });
    problems.push(problem);
  }
  return problems.length > 0 ? refused(problems) : { value: { present, numbers }, problems: [] };
}

/** One piece of a mix, or what is wrong with it. @param {Check} check @param {string} piece @param {Unit} unit @returns {{id: string, n: number} | Problem[]} */
function share(check, piece, unit) {
  const [id] = fields(piece);
  if (id === undefined) return [quoted(check, "unreadable", piece)];
  if (!hasOption(check, id) || id === check.none) return [quoted(check, "unknown_option", id)];
  const number = scanNumber([...trim(piece.slice(id.length))]);
  if (!number || (number.rest !== "" && number.rest !== unit.id)) return [quoted(check, "unreadable", piece)];
  const n = valueOf(number);
  const out = bounds(check, n, piece, unit).filter((p) => !p.ask);
  return out.length > 0 ? out : { id, n };
}

/** Spots on the sketch of a zone: "40 60; 70 20". @param {Check} check @param {string} text @returns {Reading} */
function readPlaces(check, text) {
  const pieces = text.split(";");
  if (pieces.length > maxPlaces) return refused([tooLong(check, maxPlaces)]);
  const spots = pieces.map(fields);
  const bad = pieces.filter((_, i) => spots[i].length !== 2 || !spots[i].every((w) => /^(?:[0-9]|[1-9][0-9]|100)$/.test(w)));
  if (bad.length > 0) return refused(bad.map((piece) => quoted(check, "unreadable", trim(piece))));
  return { value: { text: spots.map((s) => s.join(" ")).join("; ") }, problems: [] };
}

/** @param {Check} check @param {string[]} pieces @returns {Reading} */
function readNumbers(check, pieces) {
  if (pieces.length > maxNumbers) return refused([tooLong(check, maxNumbers)]);
  const units = check.units ?? [];
  if (units.length === 0) return refused([{ check: check.id, code: "unknown_check" }]);
  let unit = units[0];
  /** @type {Value} */
  const value = {};
  /** @type {Problem[]} */
  const problems = [];
  const trimmed = pieces.map(trim);
  const scanned = trimmed.map((piece) => scanNumber([...piece]));
  scanned.forEach((number, i) => {
    const last = i === scanned.length - 1;
    if (!number || (number.rest !== "" && !last)) problems.push(quoted(check, "unreadable", trimmed[i]));
    else if (number.rest !== "") {
      const found = units.find((u) => lower(u.id) === lower(number.rest));
      if (!found) problems.push(unitProblem(check, trimmed[i], number.rest));
      else {
        unit = found;
        value.unit = found.id;
      }
    }
  });
  if (problems.length > 0) return refused(problems);
  value.numbers = scanned.map((number) => (valueOf(/** @type {Fraction} */ (number)) * unit.mul) / unit.div + (unit.plus ?? 0));
  value.numbers.forEach((x, i) => problems.push(...bounds(check, x, trimmed[i], units[0])));
  const hard = problems.filter((problem) => !problem.ask);
  if (hard.length > 0) return refused(hard);
  return { value, problems };
}

/** @param {Check} check @param {string} piece @param {string} typed @returns {Problem} */
function unitProblem(check, piece, typed) {
  if (!/^[a-zA-Z%]/.test(typed) || /[0-9]/.test(typed)) return quoted(check, "unreadable", piece);
  const problem = quoted(check, "wrong_unit", typed);
  problem.params.unit = (check.units ?? []).map((u) => u.id).join(", ");
  return problem;
}

/** @param {Check} check @param {number} x @param {string} piece @param {Unit} own @returns {Problem[]} */
function bounds(check, x, piece, own) {
  const { hard, usual } = check;
  if (hard && !(x >= hard.low && x <= hard.high)) return [outside(check, "out_of_bounds", hard, piece, own)];
  if (usual && !(x >= usual.low && x <= usual.high)) {
    return [{ ...outside(check, "unusual", usual, piece, own), ask: true }];
  }
  return [];
}

/** @param {Check} check @param {string} code @param {Bounds} limits @param {string} piece @param {Unit} own @returns {Problem} */
function outside(check, code, limits, piece, own) {
  const problem = quoted(check, code, piece);
  Object.assign(problem.params, { low: String(limits.low), high: String(limits.high), unit: own.id });
  return problem;
}

/** @param {Fraction} number */
function valueOf(number) {
  if (number.num === 0) return 0; // never -0
  const x = number.num / number.den;
  return number.negative ? -x : x;
}

/**
 * Reads a number at the start of the text; rest is what follows it, without blanks.
 * @param {string[]} text
 * @returns {(Fraction & {rest: string}) | null}
 */
function scanNumber(text) {
  const negative = text[0] === "-" || text[0] === "−";
  const from = negative ? 1 : 0;
  const whole = digits(text, from, 0);
  if (!whole) return null;
  const part = scanPart(text, whole.at, whole.value, whole.at > from);
  if (!part) return null;
  return { negative, num: part.num, den: part.den, rest: text.slice(skipBlanks(text, part.at)).join("") };
}

/**
 * Reads what may follow the whole number, or stand without one.
 * @param {string[]} text @param {number} at @param {number} whole @param {boolean} seen
 * @returns {{num: number, den: number, at: number} | null}
 */
function scanPart(text, at, whole, seen) {
  if (text[at] === "." || text[at] === ",") return decimals(text, at + 1, whole);
  if (seen && text[at] === "/") return over(text, at + 1, 0, whole);
  const next = seen ? skipBlanks(text, at) : at;
  if (next < text.length && Object.hasOwn(glyphs, text[next])) {
    const [num, den] = glyphs[text[next]];
    return add(whole, num, den, next + 1);
  }
  if (!seen) return null;
  if (next === at || next === text.length || !isDigit(text[next])) return { num: whole, den: 1, at };
  const num = digits(text, next, 0);
  if (!num || text[num.at] !== "/") return null;
  return over(text, num.at + 1, whole, num.value);
}

/** @param {string[]} text @param {number} at @param {number} whole */
function decimals(text, at, whole) {
  const found = digits(text, at, whole);
  if (!found || found.at === at) return null;
  let den = 1;
  for (let i = at; i < found.at; i++) {
    if (den > wholeQuotient(maxExact, 10)) return null;
    den *= 10;
  }
  return { num: found.value, den, at: found.at };
}

/** @param {string[]} text @param {number} at @param {number} whole @param {number} num */
function over(text, at, whole, num) {
  const den = digits(text, at, 0);
  if (!den || den.value === 0) return null;
  return add(whole, num, den.value, den.at);
}

/** @param {number} whole @param {number} num @param {number} den @param {number} at */
function add(whole, num, den, at) {
  if (whole > wholeQuotient(maxExact - num, den)) return null;
  return { num: whole * den + num, den, at };
}

/** @param {string[]} text @param {number} at @param {number} onto @returns {{value: number, at: number} | null} */
function digits(text, at, onto) {
  let value = onto;
  for (; at < text.length && isDigit(text[at]); at++) {
    const d = text[at].charCodeAt(0) - 48;
    if (value > wholeQuotient(maxExact - d, 10)) return null;
    value = value * 10 + d;
  }
  return { value, at };
}

/** Divides without a rounding step, as whole numbers do. @param {number} a @param {number} b */
function wholeQuotient(a, b) {
  return (a - (a % b)) / b;
}

/** @param {string[]} text @param {number} at */
function skipBlanks(text, at) {
  while (at < text.length && blanks.includes(text[at])) at++;
  return at;
}

/** @param {string} c */
function isDigit(c) {
  return c >= "0" && c <= "9";
}

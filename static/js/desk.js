// The desk's keys: j and k move over rows, Enter opens, s signs off after a question, n goes to the next visit, ? explains. Everything works
// without this module too.

/** @param {EventTarget | null} target whether a person is typing there */
export function typing(target) {
  return target instanceof Element && target.closest("input, textarea, select, [contenteditable]") !== null;
}

/**
 * The place to go to from `at` (-1: nowhere yet) in a list of `n`, one step down or up; it stops at both ends.
 * @param {number} at
 * @param {number} step
 * @param {number} n
 */
export function nextRow(at, step, n) {
  if (n === 0) return -1;
  if (at < 0) return step > 0 ? 0 : n - 1;
  return Math.min(n - 1, Math.max(0, at + step));
}

/** @param {Element} row what takes the focus for a row */
function focusable(row) {
  return /** @type {HTMLElement} */ (row.matches("a[href], [tabindex]") ? row : row.querySelector("a[href], summary, button") ?? row);
}

/** @param {number} step */
function move(step) {
  const rows = [...document.querySelectorAll("[data-row]")];
  const at = rows.findIndex((row) => row.contains(document.activeElement));
  const to = rows[nextRow(at, step, rows.length)];
  if (!to) return;
  focusable(to).focus();
  to.scrollIntoView({ block: "nearest" });
}

/** Presses what the page offers under a key, after its question. @param {string} key */
function press(key) {
  const button = document.querySelector(`[data-key="${key}"]`);
  if (!(button instanceof HTMLButtonElement || button instanceof HTMLAnchorElement)) return;
  button.focus();
  button.click();
}

function explain() {
  const keys = document.getElementById("keys");
  if (!(keys instanceof HTMLDialogElement)) return;
  if (keys.open) keys.close();
  else keys.showModal();
}

/** @type {Record<string, () => void>} */
const actions = { j: () => move(1), k: () => move(-1), s: () => press("s"), n: () => press("n"), "?": explain };

/** @param {KeyboardEvent} event */
function onKey(event) {
  if (event.ctrlKey || event.metaKey || event.altKey || event.defaultPrevented || typing(event.target)) return;
  const open = document.querySelector("dialog[open]");
  const action = actions[event.key];
  if (!action || (open && event.key !== "?")) return;
  event.preventDefault();
  action();
}

/** @param {Event} event a press that asks first */
function onClick(event) {
  const button = event.target instanceof Element ? event.target.closest("[data-ask]") : null;
  if (button && !confirm(button.getAttribute("data-ask") ?? "")) event.preventDefault();
}

/** Shows what is wrong first: the focus goes to the first input with a problem. */
function start() {
  document.addEventListener("keydown", onKey);
  document.addEventListener("click", onClick);
  const wrong = document.querySelector("[aria-invalid='true']");
  if (wrong instanceof HTMLElement) wrong.focus();
}

if (typeof document !== "undefined") start();

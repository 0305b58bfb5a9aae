// Making elements without markup in strings.

const SVG = 'http://www.w3.org/2000/svg';

/** @param {Element} node @param {Record<string, any>} attrs @param {any[]} children */
function fill(node, attrs, children) {
  for (const [name, value] of Object.entries(attrs)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith('on')) node.addEventListener(name.slice(2), value);
    else node.setAttribute(name, value === true ? '' : String(value));
  }
  node.append(...children.flat().filter((c) => c !== null && c !== undefined && c !== false));
  return node;
}

/** @param {string} tag @param {Record<string, any>} [attrs] @param {...any} children @returns {HTMLElement} */
export function el(tag, attrs = {}, ...children) {
  return /** @type {HTMLElement} */ (fill(document.createElement(tag), attrs, children));
}

/** @param {string} tag @param {Record<string, any>} [attrs] @param {...any} children @returns {SVGElement} */
export function svg(tag, attrs = {}, ...children) {
  return /** @type {SVGElement} */ (fill(document.createElementNS(SVG, tag), attrs, children));
}

/** Lets the page answer a touch before more is done. @returns {Promise<void>} */
export const breathe = () => new Promise((go) => { setTimeout(go, 0); });

/** One symbol of the sprite. */
export function drawing(id) {
  return svg('svg', { class: 'drawing', 'aria-hidden': 'true', focusable: 'false' }, svg('use', { href: `/static/img/draw.svg#${id}` }));
}

/** @param {string} name @param {ParentNode} [under] @returns {any} */
export function part(name, under = document) {
  return under.querySelector(`[data-${name}]`);
}

/** Puts new children into node and shows it; hides it when there are none. @param {any} node @param {...any} children */
export function show(node, ...children) {
  const all = children.flat().filter((c) => c !== null && c !== undefined && c !== false && c !== '');
  node.replaceChildren(...all);
  node.hidden = all.length === 0;
}

/** A place for what there is to say of an input, under it. @param {Element} input */
export function under(input) {
  const host = el('p', { class: 'problem', role: 'alert', hidden: true });
  (input.closest('label') ?? input.parentElement)?.after(host);
  return host;
}

let marked = 0;

/** Ties inputs to the sentence under them: not wrong are those of which it only asks. A hidden sentence is untied. @param {(Element|null|undefined)[]} inputs @param {Element} host @param {boolean} wrong */
export function mark(inputs, host, wrong) {
  host.id ||= `says-${++marked}`;
  for (const input of inputs) {
    if (!input) continue;
    const others = (input.getAttribute('aria-describedby') ?? '').split(' ').filter((id) => id && id !== host.id);
    const ids = host.hasAttribute('hidden') ? others : [...others, host.id];
    if (ids.length > 0) input.setAttribute('aria-describedby', ids.join(' '));
    else input.removeAttribute('aria-describedby');
    if (wrong) input.setAttribute('aria-invalid', 'true');
    else input.removeAttribute('aria-invalid');
  }
}

/** A sentence under the head of the page; without a text it goes away. @param {string} name @param {...any} content */
export function banner(name, ...content) {
  const host = part('banners');
  const old = host.querySelector(`[data-banner="${name}"]`);
  if (content.length === 0) return old?.remove();
  const [text, ...rest] = content;
  const next = el('div', { class: 'note', 'data-banner': name }, el('p', {}, text), ...rest);
  if (old) old.replaceWith(next);
  else host.append(next);
}

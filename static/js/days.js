// The board of a day: a visit is dragged to another place, person or day, or picked up with Space and moved with the arrows. Each move
// is the visit's own form, filled in and sent; without this module the form is there all the same.

/** A place on the board. @typedef {{crew: number, place: number, day: number}} Spot */

/**
 * Where an arrow leads from a spot; the edges hold it back.
 * @param {Spot} at
 * @param {string} key
 * @param {number[]} sizes how many other visits each sheet has
 * @param {number} days how many days there are
 * @returns {Spot}
 */
export function moveSpot(at, key, sizes, days) {
  const clamp = (/** @type {number} */ x, /** @type {number} */ most) => Math.max(0, Math.min(most, x));
  const to = { ...at };
  if (key === "ArrowUp") to.place--;
  if (key === "ArrowDown") to.place++;
  if (key === "ArrowLeft") to.crew--;
  if (key === "ArrowRight") to.crew++;
  if (key === "PageUp") to.day--;
  if (key === "PageDown") to.day++;
  to.crew = clamp(to.crew, sizes.length - 1);
  to.day = clamp(to.day, days - 1);
  to.place = clamp(to.place, sizes[to.crew]);
  return to;
}

class Board {
  /** @param {HTMLElement} board */
  constructor(board) {
    this.sheets = /** @type {HTMLElement[]} */ ([...board.querySelectorAll("[data-crew]")]);
    this.days = /** @type {HTMLElement[]} */ ([...document.querySelectorAll("[data-day]")]);
    this.told = /** @type {HTMLElement} */ (document.querySelector("[data-told]"));
    /** @type {HTMLElement | null} */
    this.held = null;
    /** @type {HTMLElement | null} */
    this.dragged = null;
    /** @type {Spot} */
    this.spot = { crew: 0, place: 0, day: 0 };
    const how = document.querySelector("[data-how]");
    if (how instanceof HTMLElement) how.hidden = false;
    for (const card of /** @type {NodeListOf<HTMLElement>} */ (board.querySelectorAll("[data-visit]:not([data-fixed])"))) this.card(card);
    for (const s of this.sheets) this.dropZone(s, (e) => { if (this.dragged) this.send(this.dragged, s.dataset.crew ?? "", this.placeAt(s, e.clientY), ""); });
    for (const d of this.days) this.dropZone(d, () => { if (this.dragged) this.send(this.dragged, this.crewOf(this.dragged), 0, d.dataset.day ?? ""); });
    const to = document.getElementById(location.hash.slice(1));
    if (to?.matches("[data-visit]")) to.focus();
  }

  /** @param {HTMLElement} card */
  card(card) {
    card.draggable = true;
    card.addEventListener("dragstart", (e) => { this.dragged = card; e.dataTransfer?.setData("text/plain", card.dataset.visit ?? ""); card.classList.add("held"); });
    card.addEventListener("dragend", () => { this.dragged = null; card.classList.remove("held"); });
    card.addEventListener("keydown", (e) => this.key(card, e));
  }

  /** @param {HTMLElement} zone @param {(e: DragEvent) => void} drop */
  dropZone(zone, drop) {
    zone.addEventListener("dragover", (e) => { if (this.dragged) { e.preventDefault(); zone.classList.add("over"); } });
    zone.addEventListener("dragleave", () => zone.classList.remove("over"));
    zone.addEventListener("drop", (e) => { e.preventDefault(); zone.classList.remove("over"); drop(e); });
  }

  /** @param {HTMLElement} card */
  crewOf(card) { return /** @type {HTMLElement} */ (card.closest("[data-crew]")).dataset.crew ?? ""; }

  /** Cards of a sheet but the one that moves. @param {HTMLElement} sheet @param {HTMLElement | null} but */
  others(sheet, but) { return /** @type {HTMLElement[]} */ ([...sheet.querySelectorAll("[data-visit]")]).filter((c) => c !== but); }

  /** @param {HTMLElement} sheet @param {number} y */
  placeAt(sheet, y) {
    const above = this.others(sheet, this.dragged).filter((c) => { const b = c.getBoundingClientRect(); return b.top + b.height / 2 < y; });
    return above.length + 1;
  }

  /** @param {HTMLElement} card @param {KeyboardEvent} e */
  key(card, e) {
    if (e.target !== card) return;
    if (!this.held && e.key === " ") { e.preventDefault(); return this.pick(card); }
    if (!this.held) return;
    e.preventDefault();
    e.stopPropagation();
    if (e.key === "Escape") return this.leave();
    if (e.key === " " || e.key === "Enter") return this.put();
    const sizes = this.sheets.map((s) => this.others(s, this.held).length);
    this.spot = moveSpot(this.spot, e.key, sizes, this.days.length);
    this.show();
  }

  /** @param {HTMLElement} card */
  pick(card) {
    this.held = card;
    card.classList.add("held");
    const crew = this.sheets.findIndex((s) => s.contains(card));
    const place = [...this.sheets[crew].querySelectorAll("[data-visit]")].indexOf(card);
    this.from = { crew, place, day: this.days.findIndex((d) => d.hasAttribute("aria-current")) };
    this.spot = { ...this.from };
    this.told.textContent = this.told.dataset.picked ?? "";
    this.told.classList.remove("away");
  }

  /** Shows where the visit would go: it moves there on the page, and a sentence says so. */
  show() {
    const card = /** @type {HTMLElement} */ (this.held), sheet = this.sheets[this.spot.crew];
    const list = /** @type {HTMLElement} */ (sheet.querySelector("ol"));
    list.insertBefore(card, this.others(sheet, card)[this.spot.place] ?? null);
    card.focus();
    card.scrollIntoView({ block: "nearest" });
    this.days.forEach((d, i) => d.classList.toggle("over", i === this.spot.day));
    this.told.textContent = (this.told.dataset.at ?? "").replace("{crew}", sheet.dataset.name ?? "").replace("{place}", String(this.spot.place + 1)).replace("{day}", this.days[this.spot.day]?.firstChild?.textContent ?? "");
  }

  leave() {
    if (this.from) this.spot = { ...this.from };
    this.show();
    this.held?.classList.remove("held");
    this.held = null;
    this.told.textContent = this.told.dataset.left ?? "";
  }

  put() {
    const card = /** @type {HTMLElement} */ (this.held), same = this.from && this.from.day === this.spot.day;
    this.send(card, this.sheets[this.spot.crew].dataset.crew ?? "", same ? this.spot.place + 1 : 0, this.days[this.spot.day]?.dataset.day ?? "");
  }

  /** @param {HTMLElement} card @param {string} crew @param {number} place 0: the last @param {string} day "": as it is */
  send(card, crew, place, day) {
    const form = /** @type {HTMLFormElement} */ (card.querySelector("form"));
    const set = (/** @type {string} */ name, /** @type {string} */ value) => { /** @type {HTMLInputElement} */ (form.elements.namedItem(name)).value = value; };
    set("crew", crew);
    set("place", place ? String(place) : "");
    if (day) set("day", day);
    form.requestSubmit();
  }
}

if (typeof document !== "undefined") {
  const board = document.querySelector("[data-board]");
  if (board instanceof HTMLElement) new Board(board);
}

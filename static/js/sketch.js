// The sketch map: outlines are drawn with taps, with keys, or by standing at the corners. The form's texts are what counts; this only
// writes them, so that everything works without this module too.

const SIDE = 400;

/**
 * Metres to a degree east and north at a latitude, by the radii of the ellipsoid (WGS 84).
 * @param {number} lat
 */
export function perDegree(lat) {
  const a = 6378137, e2 = 0.0066943799901413165;
  const sin = Math.sin((lat * Math.PI) / 180), cos = Math.cos((lat * Math.PI) / 180);
  const n = a / Math.sqrt(1 - e2 * sin * sin), m = (n * (1 - e2)) / (1 - e2 * sin * sin);
  return { east: (n * cos * Math.PI) / 180, north: (m * Math.PI) / 180 };
}

/**
 * Corners as they stand in a form, a latitude and a longitude to a line; what is no corner is left out.
 * @param {string} text
 * @returns {Array<[number, number]>} longitude first
 */
export function readCorners(text) {
  if (text.trim().startsWith("{")) return fromGeoJSON(text);
  /** @type {Array<[number, number]>} */
  const out = [];
  for (const line of text.split("\n")) {
    const [lat, lon, more] = line.trim().split(/[\s,;]+/).filter(Boolean).map(Number);
    if (Number.isFinite(lat) && Number.isFinite(lon) && more === undefined) out.push([lon, lat]);
  }
  return out;
}

/** @param {string} text @returns {Array<[number, number]>} */
function fromGeoJSON(text) {
  try {
    let g = JSON.parse(text);
    if (g.type === "FeatureCollection" && g.features.length === 1) g = g.features[0];
    if (g.type === "Feature") g = g.geometry;
    const ring = g.type === "Polygon" && g.coordinates.length === 1 ? g.coordinates[0] : [];
    const out = ring.map((/** @type {number[]} */ p) => [p[0], p[1]]);
    const [first, last] = [out[0], out.at(-1)];
    return out.length > 1 && first[0] === last[0] && first[1] === last[1] ? out.slice(0, -1) : out;
  } catch {
    return [];
  }
}

/** @param {Array<[number, number]>} ring */
export function writeCorners(ring) {
  return ring.map(([lon, lat]) => `${round(lat)}, ${round(lon)}`).join("\n");
}

/** @param {number} x to a millionth of a tenth: a centimetre */
function round(x) {
  return String(Number(x.toFixed(7)));
}

/**
 * The area of a ring on the plane about its first corner, in square metres.
 * @param {Array<[number, number]>} ring
 */
export function flatArea(ring) {
  if (ring.length < 3) return 0;
  const { east, north } = perDegree(ring[0][1]);
  let twice = 0;
  ring.forEach((p, i) => {
    const q = ring[(i + 1) % ring.length];
    twice += (p[0] - ring[0][0]) * east * (q[1] - ring[0][1]) * north - (q[0] - ring[0][0]) * east * (p[1] - ring[0][1]) * north;
  });
  return Math.abs(twice / 2);
}

/** @param {string} name @param {Record<string, string | number>} attrs */
function svg(name, attrs) {
  const e = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attrs)) e.setAttribute(key, String(value));
  return e;
}

class Drawing {
  /** @param {HTMLFormElement} form */
  constructor(form) {
    this.form = form;
    this.us = form.dataset.units === "us";
    this.canvas = /** @type {SVGSVGElement} */ (form.querySelector("[data-sketch]"));
    this.told = /** @type {HTMLElement} */ (form.querySelector("[data-told]"));
    this.place = /** @type {HTMLInputElement} */ (form.elements.namedItem("place"));
    this.zones = [...form.querySelectorAll("[data-zone]")].map((e) => ({
      name: e.querySelector("legend b")?.textContent ?? "",
      pick: /** @type {HTMLInputElement} */ (e.querySelector("[name=draw]")),
      text: /** @type {HTMLTextAreaElement} */ (e.querySelector("textarea")),
      file: /** @type {HTMLInputElement} */ (e.querySelector("[type=file]")),
    }));
    this.cross = [SIDE / 2, SIDE / 2];
    this.reach = 30; // metres from the middle to the edge
    /** @type {number[] | null} */
    this.middle = null;
    this.drag = -1;
    this.unhide();
    this.listen();
    this.fit();
  }

  unhide() {
    for (const e of this.form.querySelectorAll("[data-tools], [data-pick], [data-file]")) if (e instanceof HTMLElement) e.hidden = false;
    this.canvas.setAttribute("tabindex", "0");
    this.canvas.setAttribute("role", "application");
    this.canvas.setAttribute("aria-describedby", "map-keys");
    this.canvas.querySelector("[data-empty]")?.remove();
    this.canvas.querySelector("[data-bar]")?.remove();
    this.layer = /** @type {SVGGElement} */ (this.canvas.querySelector("[data-shapes]"));
    if (this.zones.length === 1) this.zones[0].pick.checked = true;
  }

  listen() {
    this.canvas.addEventListener("pointerdown", (e) => this.down(e));
    this.canvas.addEventListener("pointermove", (e) => this.moved(e));
    this.canvas.addEventListener("pointerup", () => { this.drag = -1; });
    this.canvas.addEventListener("keydown", (e) => this.key(e));
    this.place.addEventListener("change", () => this.fit());
    for (const z of this.zones) {
      z.text.addEventListener("input", () => this.fit());
      z.pick.addEventListener("change", () => this.draw());
      z.file.addEventListener("change", async () => { z.text.value = (await z.file.files?.[0]?.text()) ?? ""; z.pick.checked = true; this.fit(); });
    }
    for (const b of this.form.querySelectorAll("[data-do]")) b.addEventListener("click", () => this.act(b.getAttribute("data-do") ?? ""));
  }

  chosen() { return this.zones.find((z) => z.pick.checked); }

  /** @returns {number[] | null} */
  origin() { return readCorners(this.place.value)[0] ?? null; }

  /** Puts everything that is drawn into view. */
  fit() {
    const all = this.zones.flatMap((z) => readCorners(z.text.value));
    const from = all.length ? all : this.origin() ? [/** @type {[number, number]} */ (this.origin())] : [];
    if (from.length) {
      const xs = from.map((p) => p[0]), ys = from.map((p) => p[1]);
      this.middle = [(Math.min(...xs) + Math.max(...xs)) / 2, (Math.min(...ys) + Math.max(...ys)) / 2];
      const { east, north } = perDegree(this.middle[1]);
      const wide = ((Math.max(...xs) - Math.min(...xs)) / 2) * east, high = ((Math.max(...ys) - Math.min(...ys)) / 2) * north;
      this.reach = all.length > 1 ? Math.max(wide, high, 3) * 1.25 : 30;
    } else this.middle = null;
    this.draw();
  }

  scale() { return SIDE / 2 / this.reach; }

  /** @param {number[]} p longitude, latitude */
  toView(p) {
    const m = /** @type {number[]} */ (this.middle), { east, north } = perDegree(m[1]);
    return [SIDE / 2 + (p[0] - m[0]) * east * this.scale(), SIDE / 2 - (p[1] - m[1]) * north * this.scale()];
  }

  /** @param {number[]} v @returns {[number, number]} */
  fromView(v) {
    const m = /** @type {number[]} */ (this.middle), { east, north } = perDegree(m[1]);
    return [m[0] + (v[0] - SIDE / 2) / this.scale() / east, m[1] - (v[1] - SIDE / 2) / this.scale() / north];
  }

  /** @param {PointerEvent} e */
  where(e) {
    const box = this.canvas.getBoundingClientRect(), side = Math.min(box.width, box.height);
    return [((e.clientX - box.left - (box.width - side) / 2) / side) * SIDE, ((e.clientY - box.top - (box.height - side) / 2) / side) * SIDE];
  }

  /** @param {PointerEvent} e */
  down(e) {
    if (!this.middle || !this.chosen()) return this.tell();
    const at = this.where(e), ring = this.ring();
    this.drag = ring.findIndex((p) => Math.hypot(...this.toView(p).map((x, i) => x - at[i])) < 14);
    if (this.drag < 0) this.add(this.fromView(at));
    else this.canvas.setPointerCapture(e.pointerId);
    this.cross = at;
  }

  /** @param {PointerEvent} e */
  moved(e) {
    if (this.drag < 0) return;
    const ring = this.ring();
    ring[this.drag] = this.fromView(this.where(e));
    this.put(ring);
  }

  /** @param {KeyboardEvent} e */
  key(e) {
    const step = e.shiftKey ? 20 : 4;
    const by = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] }[e.key];
    if (by) this.cross = this.cross.map((x, i) => Math.min(SIDE, Math.max(0, x + by[i])));
    else if (e.key === "Enter" && this.middle && this.chosen()) this.add(this.fromView(this.cross));
    else if (e.key === "Backspace") this.act("undo");
    else return;
    e.preventDefault();
    this.draw();
  }

  ring() { const z = this.chosen(); return z ? readCorners(z.text.value) : []; }

  /** @param {Array<[number, number]>} ring */
  put(ring) {
    const z = this.chosen();
    if (z) z.text.value = writeCorners(ring);
    this.draw();
  }

  /** @param {[number, number]} p */
  add(p) { this.put([...this.ring(), p]); }

  /** @param {string} what */
  act(what) {
    if (what === "undo") this.put(this.ring().slice(0, -1));
    if (what === "clear") this.put([]);
    if (what === "in" || what === "out") { this.reach *= what === "in" ? 0.7 : 1.4; this.draw(); }
    if (what === "fit") this.fit();
    if (what === "here") this.here();
  }

  /** A corner, or the property's place when there is none yet, where this device is. */
  here() {
    this.told.textContent = this.told.dataset.gps ?? "";
    navigator.geolocation.getCurrentPosition((got) => {
      const at = /** @type {[number, number]} */ ([got.coords.longitude, got.coords.latitude]);
      if (!this.origin()) this.place.value = writeCorners([at]);
      if (this.chosen()) this.add(at);
      this.fit();
    }, (why) => { this.told.textContent = (this.told.dataset.gpsWrong ?? "").replace("{why}", why.message); }, { enableHighAccuracy: true, timeout: 20000, maximumAge: 0 });
  }

  draw() {
    this.layer.replaceChildren();
    if (this.middle) {
      this.grid();
      for (const z of this.zones) this.outline(z);
      if (this.chosen()) this.layer.append(svg("path", { class: "cross", d: `M${this.cross[0] - 9} ${this.cross[1]}h18M${this.cross[0]} ${this.cross[1] - 9}v18` }));
    }
    this.tell();
  }

  /** Lines a round number of feet or metres apart, with the number at one of them. */
  grid() {
    const unit = this.us ? 0.3048 : 1, want = this.reach / 2 / unit, ten = 10 ** Math.floor(Math.log10(want));
    const n = [5, 2, 1].map((k) => k * ten).find((k) => k <= want) ?? ten, step = n * unit * this.scale();
    for (let x = (SIDE / 2) % step; x <= SIDE; x += step) this.layer.append(svg("path", { class: "grid", d: `M${x.toFixed(1)} 0V${SIDE}M0 ${x.toFixed(1)}H${SIDE}` }));
    this.layer.append(svg("path", { class: "bar-line", d: `M16 388h${step.toFixed(1)}` }));
    const text = svg("text", { class: "bar-text", x: 16, y: 382 });
    text.textContent = this.us ? `${n} ft` : `${n} m`;
    this.layer.append(text);
  }

  /** @param {{name: string, pick: HTMLInputElement, text: HTMLTextAreaElement}} z */
  outline(z) {
    const points = readCorners(z.text.value).map((p) => this.toView(p));
    if (!points.length) return;
    this.layer.append(svg("polygon", { points: points.map((p) => p.map((x) => x.toFixed(1)).join(",")).join(" "), class: z.pick.checked ? "now" : "" }));
    const text = svg("text", { x: points.reduce((n, p) => n + p[0] / points.length, 0), y: points.reduce((n, p) => n + p[1] / points.length, 0) });
    text.textContent = z.name;
    this.layer.append(text);
    if (z.pick.checked) for (const p of points) this.layer.append(svg("circle", { cx: p[0], cy: p[1], r: 6 }));
  }

  tell() {
    const z = this.chosen(), ring = this.ring(), d = this.told.dataset;
    const m2 = flatArea(ring), says = this.us ? `${Math.round(m2 / 0.09290304).toLocaleString("en")} sq ft` : `${Math.round(m2).toLocaleString("en")} m²`;
    this.told.textContent = !this.middle ? d.place ?? "" : !z ? d.none ?? "" : (d.live ?? "").replace("{n}", String(ring.length)).replace("{area}", says);
  }
}

if (typeof document !== "undefined") {
  const form = document.querySelector("[data-map]");
  if (form instanceof HTMLFormElement) new Drawing(form);
}

// Photos of a visit, large: a press opens one over the page, arrows go on to the others of the zone and to the earlier ones of the same spot,
// a press on the picture shows it in full size. Without this module a photo opens by itself.

class Viewer {
  /** @param {HTMLDialogElement} dialog @param {HTMLAnchorElement[]} photos */
  constructor(dialog, photos) {
    this.dialog = dialog;
    this.photos = photos;
    this.at = 0;
    this.picture = /** @type {HTMLImageElement} */ (dialog.querySelector("img"));
    this.caption = /** @type {HTMLElement} */ (dialog.querySelector("[data-caption]"));
    photos.forEach((a, i) => a.addEventListener("click", (e) => { e.preventDefault(); this.open(i); }));
    this.picture.addEventListener("click", () => this.zoom());
    dialog.addEventListener("keydown", (e) => this.key(e));
    for (const b of dialog.querySelectorAll("[data-step]")) b.addEventListener("click", () => this.open(this.at + Number(b.getAttribute("data-step"))));
    dialog.querySelector("[data-zoom]")?.addEventListener("click", () => this.zoom());
  }

  /** @param {number} i */
  open(i) {
    this.at = (i + this.photos.length) % this.photos.length;
    const a = this.photos[this.at], small = a.querySelector("img");
    this.dialog.classList.remove("whole");
    this.picture.src = a.href;
    this.picture.alt = small?.alt ?? "";
    this.caption.textContent = a.closest("figure")?.querySelector("figcaption")?.textContent ?? "";
    if (!this.dialog.open) this.dialog.showModal();
  }

  zoom() { this.dialog.classList.toggle("whole"); }

  /** @param {KeyboardEvent} e */
  key(e) {
    if (e.key === "ArrowRight") this.open(this.at + 1);
    else if (e.key === "ArrowLeft") this.open(this.at - 1);
    else if (e.key === "z") this.zoom();
    else return;
    e.preventDefault();
  }
}

if (typeof document !== "undefined") {
  const dialog = document.getElementById("photo");
  const photos = /** @type {HTMLAnchorElement[]} */ ([...document.querySelectorAll(".photos a[data-photo]")]);
  if (dialog instanceof HTMLDialogElement && photos.length) new Viewer(dialog, photos);
}

// Taking a photo with the last one of the same spot laid over the camera's picture, so that both show the same.

import { el } from './dom.js';

const FADES = ['f40', 'f60', 'f20'];
const LONGEST = 1600;

/**
 * @param {import('./words.js').Say} say @param {string} last  where the last photo is @param {string} day @param {(file: File) => any} take
 */
export async function shoot(say, last, day, take) {
  const video = /** @type {HTMLVideoElement} */ (el('video', { autoplay: true, muted: true, playsinline: true, 'aria-hidden': 'true' }));
  const over = el('img', { src: last, alt: say('guide.was', { day }), class: FADES[0] });
  let fade = 0, stream = /** @type {MediaStream|null} */ (null);
  const said = el('p', { class: 'soft', role: 'status' }, say('guide.was', { day }));
  const box = /** @type {HTMLDialogElement} */ (el('dialog', { class: 'guide-box', 'aria-label': say('guide.title') }, el('h2', {}, say('guide.title')),
    el('div', { class: 'guide-view' }, video, over), said,
    el('div', { class: 'btns' }, el('button', { type: 'button', class: 'btn', 'data-close': true, onclick: () => box.close() }, say('guide.close')),
      el('button', { type: 'button', class: 'btn', 'data-fade': true, onclick: () => { over.className = FADES[fade = (fade + 1) % FADES.length]; } }, say('guide.fade')),
      el('button', { type: 'button', class: 'btn go', 'data-shoot': true, onclick: () => still() }, say('guide.take')))));
  const still = async () => {
    if (!video.videoWidth) return;
    const scale = Math.min(1, LONGEST / Math.max(video.videoWidth, video.videoHeight));
    const canvas = document.createElement('canvas');
    canvas.width = Math.round(video.videoWidth * scale);
    canvas.height = Math.round(video.videoHeight * scale);
    canvas.getContext('2d').drawImage(video, 0, 0, canvas.width, canvas.height);
    const blob = await new Promise((resolve) => canvas.toBlob(resolve, 'image/jpeg', 0.85));
    box.close();
    take(new File([blob], 'photo.jpg', { type: 'image/jpeg', lastModified: Date.now() }));
  };
  box.addEventListener('close', () => { for (const track of stream?.getTracks() ?? []) track.stop(); box.remove(); });
  document.body.append(box);
  box.showModal();
  try {
    stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: 'environment', width: { ideal: LONGEST } } });
    video.srcObject = stream;
  } catch (err) {
    said.textContent = say('guide.no_camera', { why: err?.name ?? '' });
  }
}

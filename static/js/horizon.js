// The horizon by the phone's own sensors: which way its back looks and how high it is tilted. The phone is held upright
// and sighted along its edge at the top of what stands in the way.

const DEG = Math.PI / 180;
const SILENT = 3000; // ms without a word from the sensors

/**
 * Where the back of the phone looks: azimuth from north, clockwise, and height above the horizon, in degrees. By the
 * rotation of the Device Orientation standard (Z-X'-Y'', alpha counted against the clock).
 * @param {{alpha: number, beta: number, gamma: number}} o
 */
export function sight({ alpha, beta, gamma }) {
  const [a, b, g] = [alpha * DEG, beta * DEG, gamma * DEG];
  // The back looks along minus z of the phone, turned into east, north, up.
  const east = -(Math.cos(a) * Math.sin(g) + Math.sin(a) * Math.sin(b) * Math.cos(g));
  const north = -(Math.sin(a) * Math.sin(g) - Math.cos(a) * Math.sin(b) * Math.cos(g));
  const up = -Math.cos(b) * Math.cos(g);
  return { azimuth: (Math.atan2(east, north) / DEG + 360) % 360, height: Math.asin(Math.max(-1, Math.min(1, up))) / DEG };
}

/**
 * What stands between sights: from each to the next the shorter way, as high as the higher of both.
 * @param {{azimuth: number, height: number}[]} sights  in the order they were taken
 */
export function skyline(sights) {
  return sights.slice(1).map((s, i) => {
    const [from, to] = [sights[i].azimuth, s.azimuth];
    const left = (to - from + 360) % 360 > 180; // turned the other way: nothing in one sight fills half the sky
    return { from: left ? to : from, to: left ? from : to, elevation: Math.max(0, sights[i].height, s.height) };
  }).filter((o) => o.elevation > 0 && o.from !== o.to);
}

/**
 * Follows the sensors; says null where there are none, where north is not known, and while the page can't be seen.
 * @param {(sight: {azimuth: number, height: number}|null) => void} tell @returns {Promise<(() => void)|null>} stops it; null where the sensors may not be read
 */
export async function follow(tell) {
  const kind = 'ondeviceorientationabsolute' in globalThis ? 'deviceorientationabsolute' : 'deviceorientation';
  const ask = /** @type {any} */ (globalThis.DeviceOrientationEvent)?.requestPermission;
  if (ask && await ask.call(globalThis.DeviceOrientationEvent).catch(() => 'denied') !== 'granted') {
    tell(null);
    return null; // so that it can be asked again
  }
  const heard = (/** @type {any} */ e) => {
    clearTimeout(silent);
    const compass = typeof e.webkitCompassHeading === 'number';
    const alpha = compass && !(e.webkitCompassAccuracy < 0) ? 360 - e.webkitCompassHeading : !compass && e.absolute ? e.alpha : null;
    tell([alpha, e.beta, e.gamma].some((x) => typeof x !== 'number') ? null : sight({ alpha, beta: e.beta, gamma: e.gamma }));
  };
  const hidden = () => { if (document.visibilityState === 'hidden') tell(null); };
  const silent = setTimeout(() => tell(null), SILENT); // where there are no sensors, nothing is ever heard
  globalThis.addEventListener(kind, heard);
  document.addEventListener('visibilitychange', hidden);
  return () => {
    clearTimeout(silent);
    globalThis.removeEventListener(kind, heard);
    document.removeEventListener('visibilitychange', hidden);
  };
}

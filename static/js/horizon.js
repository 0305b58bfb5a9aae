// The horizon by the phone's own sensors: which way its back looks and how high it is tilted. The phone is held upright
// and sighted along its edge at the top of what stands in the way.

const DEG = Math.PI / 180;

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
 * What stands between sights: from each to the next, as high as the higher of both.
 * @param {{azimuth: number, height: number}[]} sights  in the order they were taken, turning right
 */
export function skyline(sights) {
  return sights.slice(1).map((s, i) => ({ from: sights[i].azimuth, to: s.azimuth, elevation: Math.max(0, sights[i].height, s.height) })).filter((o) => o.elevation > 0 && o.from !== o.to);
}

/**
 * Follows the sensors; says null where there are none or north is not known.
 * @param {(sight: {azimuth: number, height: number}|null) => void} tell @returns {Promise<() => void>} stops it
 */
export async function follow(tell) {
  const kind = 'ondeviceorientationabsolute' in globalThis ? 'deviceorientationabsolute' : 'deviceorientation';
  const ask = /** @type {any} */ (globalThis.DeviceOrientationEvent)?.requestPermission;
  if (ask && await ask.call(globalThis.DeviceOrientationEvent).catch(() => 'denied') !== 'granted') {
    tell(null);
    return () => {};
  }
  const heard = (/** @type {any} */ e) => {
    const alpha = typeof e.webkitCompassHeading === 'number' ? 360 - e.webkitCompassHeading : e.absolute ? e.alpha : null;
    tell(alpha === null || e.beta === null || e.gamma === null ? null : sight({ alpha, beta: e.beta, gamma: e.gamma }));
  };
  globalThis.addEventListener(kind, heard);
  return () => globalThis.removeEventListener(kind, heard);
}

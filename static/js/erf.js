// The error function and its complement, each accurate to about one unit in the last place. Same method and coefficients
// as the office's; FreeBSD's msun/src/s_erf.c came with this notice:
//
//   Copyright (C) 1993 by Sun Microsystems, Inc. All rights reserved.
//   Developed at SunPro, a Sun Microsystems, Inc. business. Permission to use, copy, modify, and distribute this
//   software is freely granted, provided that this notice is preserved.

const ERX = 8.45062911510467529297e-01;
const P = [1.28379167095512558561e-01, -3.25042107247001499370e-01, -2.84817495755985104766e-02,
  -5.77027029648944159157e-03, -2.37630166566501626084e-05];
const Q = [1, 3.97917223959155352819e-01, 6.50222499887672944485e-02, 5.08130628187576562776e-03,
  1.32494738004321644526e-04, -3.96022827877536812320e-06];
const PA = [-2.36211856075265944077e-03, 4.14856118683748331666e-01, -3.72207876035701323847e-01,
  3.18346619901161753674e-01, -1.10894694282396677476e-01, 3.54783043256182359371e-02, -2.16637559486879084300e-03];
const QA = [1, 1.06420880400844228286e-01, 5.40397917702171048937e-01, 7.18286544141962662868e-02,
  1.26171219808761642112e-01, 1.36370839120290507362e-02, 1.19844998467991074170e-02];
const RA = [-9.86494403484714822705e-03, -6.93858572707181764372e-01, -1.05586262253232909814e+01,
  -6.23753324503260060396e+01, -1.62396669462573470355e+02, -1.84605092906711035994e+02,
  -8.12874355063065934246e+01, -9.81432934416914548592e+00];
const SA = [1, 1.96512716674392571292e+01, 1.37657754143519042600e+02, 4.34565877475229228821e+02,
  6.45387271733267880336e+02, 4.29008140027567833386e+02, 1.08635005541779435134e+02,
  6.57024977031928170135e+00, -6.04244152148580987438e-02];
const RB = [-9.86494292470009928597e-03, -7.99283237680523006574e-01, -1.77579549177547519889e+01,
  -1.60636384855821916062e+02, -6.37566443368389627722e+02, -1.02509513161107724954e+03, -4.83519191608651397019e+02];
const SB = [1, 3.03380607434824582924e+01, 3.25792512996573918826e+02, 1.53672958608443695994e+03,
  3.19985821950859553908e+03, 2.55305040643316442583e+03, 4.74528541206955367215e+02, -2.24409524465858183362e+01];

/**
 * The polynomial with coefficients c, lowest first, at x.
 * @param {number[]} c
 * @param {number} x
 */
function poly(c, x) {
  let sum = c[c.length - 1];
  for (let i = c.length - 2; i >= 0; i--) sum = c[i] + x * sum;
  return sum;
}

const float = new Float64Array(1);
const words = new Uint32Array(float.buffer);
const LOW = new Uint8Array(new Uint16Array([1]).buffer)[0] === 1 ? 0 : 1;

/** erfc(x) for x of 1.25 to 28. @param {number} x */
function tail(x) {
  const s = 1 / (x * x);
  const ratio = x < 1 / 0.35 ? poly(RA, s) / poly(SA, s) : poly(RB, s) / poly(SB, s);
  float[0] = x;
  words[LOW] = 0; // x cut to its upper half, so that its square is exact
  const z = float[0];
  return Math.exp(-z * z - 0.5625) * Math.exp((z - x) * (z + x) + ratio) / x;
}

/** The error function. @param {number} x */
export function erf(x) {
  if (Number.isNaN(x)) return NaN;
  if (x < 0) return -erf(-x);
  if (x < 0.84375) {
    const z = x * x;
    return x + x * (poly(P, z) / poly(Q, z));
  }
  if (x < 1.25) return ERX + poly(PA, x - 1) / poly(QA, x - 1);
  return x >= 6 ? 1 : 1 - tail(x);
}

/** The complementary error function, 1 − erf(x) without its rounding. @param {number} x */
export function erfc(x) {
  if (Number.isNaN(x)) return NaN;
  if (x < 0) return 1 + erf(-x);
  if (x < 0.84375) {
    const z = x * x;
    const y = poly(P, z) / poly(Q, z);
    return x < 0.25 ? 1 - (x + x * y) : 1 - (0.5 + (x * y + (x - 0.5)));
  }
  if (x < 1.25) return 1 - ERX - poly(PA, x - 1) / poly(QA, x - 1);
  return x < 28 ? tail(x) : 0;
}

import type { Lab } from './cielab';

const DEGREES = Math.PI / 180;
const P25_7 = 25 ** 7;

/**
 * CIEDE2000 colour difference, 0 and up; about 1 is just seen side by side. Made for small differences (under about 5)
 * of colours under D65; kL = kC = kH = 1. Both colours against the same white. Names and equation numbers as printed.
 * Discontinuous where the hues differ by exactly 180 degrees (equation 14 takes the other way round): the value then
 * depends on the last bit, as Sharma's pairs 13 to 16 show.
 * @see Sharma, Wu & Dalal 2005, The CIEDE2000 color-difference formula, Color Res Appl 30:21-30, doi:10.1002/col.20070
 * Example: pair 17, (50, 2.5, 0) and (73, 25, -18), is 27.1492.
 */
export function differenceCiede2000<Space extends Lab['space']>(
  reference: Lab & { space: Space },
  sample: Lab & { space: Space },
): number {
  const [L_1, a_1, b_1] = [reference.L, reference.a, reference.b];
  const [L_2, a_2, b_2] = [sample.L, sample.a, sample.b];
  const C_1 = Math.hypot(a_1, b_1); // (2)
  const C_2 = Math.hypot(a_2, b_2);
  const C_bar = (C_1 + C_2) / 2; // (3)
  const G = 0.5 * (1 - Math.sqrt(C_bar ** 7 / (C_bar ** 7 + P25_7))); // (4)
  const ap_1 = (1 + G) * a_1; // (5)
  const ap_2 = (1 + G) * a_2;
  const Cp_1 = Math.hypot(ap_1, b_1); // (6)
  const Cp_2 = Math.hypot(ap_2, b_2);
  const hp_1 = hueDegrees(ap_1, b_1); // (7)
  const hp_2 = hueDegrees(ap_2, b_2);

  const DLp = L_2 - L_1; // (8)
  const DCp = Cp_2 - Cp_1; // (9)
  let Dhp = 0; // (10)
  if (Cp_1 * Cp_2 !== 0) {
    Dhp = hp_2 - hp_1;
    if (Dhp > 180) Dhp -= 360;
    else if (Dhp < -180) Dhp += 360;
  }
  const DHp = 2 * Math.sqrt(Cp_1 * Cp_2) * Math.sin((Dhp / 2) * DEGREES); // (11)

  const Lp_bar = (L_1 + L_2) / 2; // (12)
  const Cp_bar = (Cp_1 + Cp_2) / 2; // (13)
  let hp_bar = hp_1 + hp_2; // (14)
  if (Cp_1 * Cp_2 !== 0) {
    if (Math.abs(hp_1 - hp_2) <= 180) hp_bar /= 2;
    else hp_bar = hp_bar < 360 ? (hp_bar + 360) / 2 : (hp_bar - 360) / 2;
  }
  const T =
    1 -
    0.17 * Math.cos((hp_bar - 30) * DEGREES) +
    0.24 * Math.cos(2 * hp_bar * DEGREES) +
    0.32 * Math.cos((3 * hp_bar + 6) * DEGREES) -
    0.2 * Math.cos((4 * hp_bar - 63) * DEGREES); // (15)
  const D_theta = 30 * Math.exp(-(((hp_bar - 275) / 25) ** 2)); // (16)
  const R_C = 2 * Math.sqrt(Cp_bar ** 7 / (Cp_bar ** 7 + P25_7)); // (17)
  const S_L = 1 + (0.015 * (Lp_bar - 50) ** 2) / Math.sqrt(20 + (Lp_bar - 50) ** 2); // (18)
  const S_C = 1 + 0.045 * Cp_bar; // (19)
  const S_H = 1 + 0.015 * Cp_bar * T; // (20)
  const R_T = -Math.sin(2 * D_theta * DEGREES) * R_C; // (21)
  return Math.sqrt((DLp / S_L) ** 2 + (DCp / S_C) ** 2 + (DHp / S_H) ** 2 + R_T * (DCp / S_C) * (DHp / S_H)); // (22)
}

/** 0 <= h < 360; 0 for a grey, as printed below equation 7. */
function hueDegrees(a: number, b: number): number {
  if (a === 0 && b === 0) return 0;
  const h = Math.atan2(b, a) / DEGREES;
  return h < 0 ? h + 360 : h;
}

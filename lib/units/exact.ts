/**
 * The defining constants: exact by definition, so everything else is derived from them in code. Sources: NIST Special
 * Publication 811 (2008) appendix B and NIST Handbook 44 appendix C, for the international foot, the avoirdupois pound
 * and the US gallon (231 cubic inches); BIPM SI Brochure 9th edition (2019) for kelvin, bar and litre.
 */

/** International foot, m. Exact (1959 yard and pound agreement). */
export const FOOT_M = 0.3048;
/** International inch, m. Exact. */
export const INCH_M = 0.0254;
/** International yard, m. Exact: 3 ft. */
export const YARD_M = 0.9144;
/** International mile, m. Exact: 5280 ft. */
export const MILE_M = 1609.344;

/** One square foot, m². Exact: 0.3048². */
export const SQUARE_FOOT_M2 = 0.09290304;
/** One thousand square feet, m². Exact. */
export const THOUSAND_SQUARE_FEET_M2 = 92.90304;
/** One acre of 43,560 international square feet, m². Exact. */
export const ACRE_M2 = 4046.8564224;
/** One hectare, m². Exact. */
export const HECTARE_M2 = 10_000;

/** US liquid gallon of 231 cubic inches, L. Exact. */
export const US_GALLON_L = 3.785411784;
/** US fluid ounce, L. Exact: gallon / 128. */
export const US_FLUID_OUNCE_L = 0.0295735295625;

/** Avoirdupois pound, kg. Exact. */
export const POUND_KG = 0.45359237;
/** Avoirdupois ounce, kg. Exact: pound / 16. */
export const OUNCE_KG = 0.028349523125;

/** Standard gravity, m/s². Exact; makes pound-force, and so psi, exact. */
export const STANDARD_GRAVITY_M_PER_S2 = 9.80665;
/** Conventional millimetre of mercury, kPa. NIST SP 811 B.8 (conventional value). */
export const MILLIMETRE_OF_MERCURY_KPA = 0.133322387415;

/** Celsius zero, K. Exact. */
export const ZERO_CELSIUS_K = 273.15;

/**
 * The one unit used inside for each dimension: the unit its literature prints, so constants match the page.
 * Every canonical number carries this unit in its name (`areaM2`, `carrierLPerHa`); a bare number is a bug.
 */
export const CANON = {
  length: { unit: 'm', why: 'plots, swaths and nozzle spacing are of this size' },
  area: { unit: 'm2', why: 'a lawn is tens to thousands of m2' },
  volume: { unit: 'L', why: 'a backpack tank holds 10 to 20 L' },
  mass: { unit: 'kg', why: 'with kg/ha and kg/L no factor of 1000 is needed' },
  liquidRate: { unit: 'L/ha', why: 'the carrier volume and product rate of the agronomic literature' },
  dryRate: { unit: 'kg/ha', why: 'nutrient and product rates of the agronomic literature' },
  liquidTankRate: { unit: 'mL/L', why: 'a share of the tank, 1 mL/L = 0.1 % v/v' },
  dryTankRate: { unit: 'g/L', why: 'solution strength as chemistry prints it' },
  flow: { unit: 'L/min', why: 'nozzle catalogues' },
  density: { unit: 'kg/L', why: 'equals g/mL, and the specific gravity to 0.3 %' },
  concentration: { unit: 'mg/L', why: 'water reports; parts per million in dilute water' },
  alkalinity: { unit: 'mg/L as CaCO3', why: 'water reports; the basis is part of the unit' },
  speed: { unit: 'm/s', why: 'FAO-56' },
  pressure: { unit: 'kPa', why: 'FAO-56' },
  temperature: { unit: 'degC', why: 'FAO-56; a difference of temperatures is a dimension of its own' },
} as const;

import { fromM2, toM2, type AreaUnit, AREA_UNITS } from '@/lib/units/area';
import { fromM, LENGTH_UNITS, toM, type LengthUnit } from '@/lib/units/length';
import { SENSIBLE } from '@/lib/units/limits';
import { fromLPerHa, LIQUID_AREA_RATE_UNITS, toLPerHa, type LiquidAreaRateUnit } from '@/lib/units/rate';
import { fromMPerS, SPEED_UNITS, toMPerS, type SpeedUnit } from '@/lib/units/speed';
import { fromC, TEMPERATURE_UNITS, toC, type TemperatureUnit } from '@/lib/units/temperature';
import { fromL, toL, VOLUME_UNITS, type VolumeUnit } from '@/lib/units/volume';
import { optionalMeasureField, type AmountBounds } from './fields';

/** Amounts that forms share, each with one limit whichever unit is picked. */
const mowing: AmountBounds<LengthUnit> = {
  units: LENGTH_UNITS,
  toCanonical: toM,
  fromCanonical: fromM,
  ...SENSIBLE.mowingHeightM,
};
const side: AmountBounds<LengthUnit> = {
  units: LENGTH_UNITS,
  toCanonical: toM,
  fromCanonical: fromM,
  ...SENSIBLE.sideM,
};
const area: AmountBounds<AreaUnit> = {
  units: AREA_UNITS,
  toCanonical: toM2,
  fromCanonical: fromM2,
  ...SENSIBLE.areaM2,
};
const tank: AmountBounds<VolumeUnit> = {
  units: VOLUME_UNITS,
  toCanonical: toL,
  fromCanonical: fromL,
  ...SENSIBLE.tankL,
};
const sprayed: AmountBounds<VolumeUnit> = { ...tank, min: 0.001 };
const leftover: AmountBounds<VolumeUnit> = { ...tank, min: 0 };
const air: AmountBounds<TemperatureUnit> = {
  units: TEMPERATURE_UNITS,
  toCanonical: toC,
  fromCanonical: fromC,
  ...SENSIBLE.airTempC,
};
const wind: AmountBounds<SpeedUnit> = {
  units: SPEED_UNITS,
  toCanonical: toMPerS,
  fromCanonical: fromMPerS,
  ...SENSIBLE.windMPerS,
};
const carrier: AmountBounds<LiquidAreaRateUnit> = {
  units: LIQUID_AREA_RATE_UNITS,
  toCanonical: toLPerHa,
  fromCanonical: fromLPerHa,
  ...SENSIBLE.carrierLPerHa,
};

export const mowingHeightField = (label: string) => optionalMeasureField(label, mowing);
export const sideField = (label: string) => optionalMeasureField(label, side);
export const areaField = (label: string) => optionalMeasureField(label, area);
export const tankField = (label: string) => optionalMeasureField(label, tank);
export const sprayedVolumeField = (label: string) => optionalMeasureField(label, sprayed);
export const leftoverField = (label: string) => optionalMeasureField(label, leftover);
export const airTempField = (label: string) => optionalMeasureField(label, air);
export const windField = (label: string) => optionalMeasureField(label, wind);
export const carrierField = (label: string) => optionalMeasureField(label, carrier);

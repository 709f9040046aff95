import { CHART_EDITIONS, USUAL_EDITION } from '@/lib/colour/chart-24';
import { z } from 'zod';
import { AREA_UNITS, toM2 } from '@/lib/units/area';
import { ALKALINITY_UNITS, toMgPerLCaCO3 } from '@/lib/units/concentration';
import { LENGTH_UNITS, toM } from '@/lib/units/length';
import { SPEED_UNITS, toMPerS } from '@/lib/units/speed';
import { toL, VOLUME_UNITS } from '@/lib/units/volume';
import {
  choiceField,
  idField,
  optionalAmountField,
  optionalNumberField,
  optionalTextField,
  textField,
  tickField,
  timeZoneField,
} from './fields';
import { areaField, carrierField, mowingHeightField, sideField, tankField } from './measures';

/** The lawn's own facts. Canonical units out; mowing height is kept as typed as well. */
export const LawnForm = z
  .object({
    name: textField('Name'),
    place: optionalTextField('Place', 200),
    latitudeDeg: optionalNumberField('Latitude', { min: -90, max: 90, unit: 'degrees (south is negative)' }),
    longitudeDeg: optionalNumberField('Longitude', { min: -180, max: 180, unit: 'degrees (west is negative)' }),
    elevation: optionalAmountField('Elevation', LENGTH_UNITS, { min: -1500, max: 30000 }),
    timeZone: timeZoneField('Time zone'),
    unitSystem: choiceField('Units', ['us-customary', 'metric']),
    grass: optionalTextField('Grass', 120),
    mowingHeight: mowingHeightField('Mowing height'),
    waterPh: optionalNumberField('Water pH', { min: 3, max: 11 }),
    waterAlkalinity: optionalAmountField('Alkalinity', ALKALINITY_UNITS, { min: 0, max: 2000 }),
    waterHardness: optionalAmountField('Hardness', ALKALINITY_UNITS, { min: 0, max: 5000 }),
    waterChlorinated: tickField,
    chartEdition: choiceField('Colour chart', CHART_EDITIONS).optional().default(USUAL_EDITION),
    note: optionalTextField('Note'),
  })
  .transform(({ elevation, mowingHeight, waterAlkalinity, waterHardness, ...rest }) => ({
    ...rest,
    elevationM: elevation ? toM(elevation) : null,
    mowingHeightMm: mowingHeight ? mowingHeight.canonical * 1000 : null,
    mowingHeightEnteredValue: mowingHeight?.value ?? null,
    mowingHeightEnteredUnit: mowingHeight?.unit ?? null,
    waterAlkalinityMgPerLCaCO3: waterAlkalinity ? toMgPerLCaCO3(waterAlkalinity) : null,
    waterHardnessMgPerLCaCO3: waterHardness ? toMgPerLCaCO3(waterHardness) : null,
  }));

/** A plot: an area, or a rectangle of length and width (which then gives the area). */
export const PlotForm = z
  .object({
    name: textField('Plot name', 40),
    isCheck: tickField,
    area: areaField('Area'),
    length: sideField('Length'),
    width: sideField('Width'),
    offset: optionalAmountField('Distance from the left stake', LENGTH_UNITS, { min: 0, max: 10000 }),
    ground: z
      .union([z.enum(['', 'plan', 'apart']), idField], 'Where it lies: expected one of the choices')
      .optional()
      .default(''),
    note: optionalTextField('Note'),
  })
  .transform(({ area, length, width, offset, ground, ...typed }, context) => {
    const lengthM = length?.canonical ?? null;
    const widthM = width?.canonical ?? null;
    if ((lengthM === null) !== (widthM === null)) {
      const missing = lengthM === null ? 'length' : 'width';
      context.addIssue({
        code: 'custom',
        path: [missing],
        message: `Plot: expected both length and width, got no ${missing}`,
      });
      return z.NEVER;
    }
    const drawn = lengthM !== null && widthM !== null;
    if (ground === 'plan' && !drawn) {
      context.addIssue({
        code: 'custom',
        path: ['length'],
        message: 'Plot: expected its length and width, since it is to lie on the plan, got neither',
      });
      return z.NEVER;
    }
    const groundPlace: 'plan' | 'apart' | 'inside' | null =
      ground === ''
        ? drawn && offset
          ? 'plan'
          : null
        : ground === 'plan' || ground === 'apart'
          ? (ground as 'plan' | 'apart')
          : 'inside';
    const rest = { ...typed, groundPlace, insidePlotId: groundPlace === 'inside' ? ground : null };
    if (lengthM !== null && widthM !== null) {
      const left = offset ? toM(offset) : 0;
      const right = left + widthM;
      const polygonM: [number, number][] = [
        [left, lengthM],
        [right, lengthM],
        [right, 0],
        [left, 0],
      ];
      return {
        ...rest,
        polygonM,
        areaM2: lengthM * widthM,
        areaEnteredValue: area?.value ?? null,
        areaEnteredUnit: area?.unit ?? null,
      };
    }
    if (area === null) {
      context.addIssue({
        code: 'custom',
        path: ['area'],
        message: 'Area: expected an area, or a length and a width, got nothing',
      });
      return z.NEVER;
    }
    return {
      ...rest,
      polygonM: null,
      areaM2: area.canonical,
      areaEnteredValue: area.value,
      areaEnteredUnit: area.unit,
    };
  });

/** A sprayer. The carrier volume comes from the catch test where there is one, else as typed. */
export const SprayerForm = z
  .object({
    name: textField('Sprayer name', 80),
    tank: tankField('Tank').refine((amount) => amount !== null, 'Tank: expected a volume above 0, got nothing'),
    carrier: carrierField('Carrier volume'),
    swath: optionalAmountField('Swath', LENGTH_UNITS, { above: 0, max: 1000 }),
    walking: optionalAmountField('Walking speed', SPEED_UNITS, { above: 0, max: 500 }),
    catchVolume: optionalAmountField('Caught', VOLUME_UNITS, { above: 0, max: 100_000 }),
    catchArea: optionalAmountField('Area of the catch test', AREA_UNITS, { above: 0, max: 1e6 }),
  })
  .transform(({ tank, carrier, swath, walking, catchVolume, catchArea, ...rest }, context) => {
    if ((catchVolume === null) !== (catchArea === null)) {
      const missing = catchVolume === null ? 'catchVolume' : 'catchArea';
      context.addIssue({
        code: 'custom',
        path: [missing],
        message: 'Catch test: expected a volume and an area, got only one of them',
      });
      return z.NEVER;
    }
    const catchTestMl = catchVolume ? toL(catchVolume) * 1000 : null;
    const catchTestAreaM2 = catchArea ? toM2(catchArea) : null;
    const caughtLPerHa =
      catchTestMl !== null && catchTestAreaM2 !== null ? (catchTestMl / 1000 / catchTestAreaM2) * 10_000 : null;
    return {
      ...rest,
      tankL: tank!.canonical,
      tankEnteredValue: tank!.value,
      tankEnteredUnit: tank!.unit,
      carrierLPerHa: caughtLPerHa ?? carrier?.canonical ?? null,
      carrierEnteredValue: carrier?.value ?? null,
      carrierEnteredUnit: carrier?.unit ?? null,
      swathM: swath ? toM(swath) : null,
      walkingMPerS: walking ? toMPerS(walking) : null,
      catchTestMl,
      catchTestAreaM2,
    };
  });

/** A carrier volume found by a catch test. */
export const CarrierForm = z
  .object({
    carrier: carrierField('Carrier volume').refine(
      (amount) => amount !== null,
      'Carrier volume: expected a number above 0, got nothing',
    ),
  })
  .transform(({ carrier }) => ({
    carrierLPerHa: carrier!.canonical,
    carrierEnteredValue: carrier!.value,
    carrierEnteredUnit: carrier!.unit,
  }));

import type { UnitSystem } from '@/lib/units/display';
import { toKgPerHa, toLPerHa, type DryAreaRate, type LiquidAreaRate, type Rate } from '@/lib/units/rate';
import { toL } from '@/lib/units/volume';
import type {
  DemoProduct,
  DemoRating,
  DemoSpray,
  DemoSprayItem,
  DemoStrip,
  DemoTreatment,
  StripId,
  TreatmentId,
} from './demo-facts';
import type { DayWish } from './weather';

/**
 * The demo's story, as fixed: the lawn, the shelf, what was sprayed when, on which days somebody took a photo, and how
 * it was scored.
 */

export const FIRST_DAY = '2026-04-13';
export const LAST_DAY = '2026-05-18';
const UTC_OFFSET_MINUTES = 120;

/** In which country the demo's lawn lies, and so its grass, units and dates; story and pictures are the same. */
const DEMO_SETTINGS = ['us-warm', 'metric-cool'] as const;
export type DemoSetting = (typeof DEMO_SETTINGS)[number];

const METRIC_LAWN = {
  name: 'Orchard green',
  place: 'Valdorsa (an invented village)',
  latitudeDeg: 45.31,
  longitudeDeg: 9.87,
  elevationM: 96,
  timeZone: 'Europe/Rome',
  unitSystem: 'metric',
  grass: 'Tall fescue, sown two autumns ago',
  mowingHeightMm: 65,
  mowingHeight: { value: 6.5, unit: 'cm' },
  waterPh: 7.6,
  waterAlkalinityMgPerLCaCO3: 140,
  waterHardnessMgPerLCaCO3: 175,
  waterChlorinated: false,
  note: 'An invented demonstration lawn: the photos are drawn, the weather is made up.',
};
export type DemoLawnFacts = Omit<typeof METRIC_LAWN, 'unitSystem'> & { unitSystem: UnitSystem };

const US_LAWN: DemoLawnFacts = {
  ...METRIC_LAWN,
  name: 'Creek side',
  place: 'Mill Hollow (an invented town)',
  latitudeDeg: 34.21,
  longitudeDeg: -86.37,
  elevationM: 210,
  timeZone: 'America/Chicago',
  unitSystem: 'us-customary',
  grass: 'Bermudagrass, sodded two summers ago',
  mowingHeightMm: 38.1,
  mowingHeight: { value: 1.5, unit: 'in' },
  waterPh: 7.8,
};

export const lawnOf = (setting: DemoSetting): DemoLawnFacts =>
  setting === 'us-warm' ? US_LAWN : { ...METRIC_LAWN, unitSystem: 'metric' };
/** Both places keep summer time through the story. */
export const utcOffsetMinutes = (setting: DemoSetting): number => (setting === 'us-warm' ? -300 : UTC_OFFSET_MINUTES);

const METRIC_SPRAYER = {
  name: 'Backpack, two-nozzle hand boom',
  tankL: 12,
  tank: { value: 12, unit: 'L' },
  carrierLPerHa: 600,
  carrier: { value: 6, unit: 'L/100m2' },
  swathM: 0.75,
  walkingMPerS: 0.7,
  catchTestMl: 630,
  catchTestAreaM2: 10.5,
  catchTestedLocal: '2026-04-12T17:20:00',
};
export type DemoSprayer = typeof METRIC_SPRAYER;
export const sprayerOf = (setting: DemoSetting): DemoSprayer =>
  setting === 'metric-cool'
    ? METRIC_SPRAYER
    : {
        ...METRIC_SPRAYER,
        tank: { value: 3, unit: 'us-gal' },
        tankL: toL({ value: 3, unit: 'us-gal' }),
        carrier: { value: 1.5, unit: 'us-gal/1000ft2' },
        carrierLPerHa: toLPerHa({ value: 1.5, unit: 'us-gal/1000ft2' }),
        swathM: 0.762,
      };

/** What a metric rate of the story reads as on a US label: to the figures such a label prints, within 6 % of it. */
const US_RATES: Readonly<Record<string, Rate>> = {
  '60 g/100m2': { value: 2, unit: 'oz/1000ft2' },
  '125 g/100m2': { value: 4, unit: 'oz/1000ft2' },
  '80 g/100m2': { value: 2.6, unit: 'oz/1000ft2' },
  '250 g/100m2': { value: 8, unit: 'oz/1000ft2' },
  '2 g/100m2': { value: 0.065, unit: 'oz/1000ft2' },
  '20 g/100m2': { value: 0.65, unit: 'oz/1000ft2' },
  '30 g/100m2': { value: 1, unit: 'oz/1000ft2' },
  '110 g/100m2': { value: 3.6, unit: 'oz/1000ft2' },
  '12 mL/100m2': { value: 0.38, unit: 'us-fl-oz/1000ft2' },
  '30 mL/100m2': { value: 0.95, unit: 'us-fl-oz/1000ft2' },
  '6 L/100m2': { value: 1.5, unit: 'us-gal/1000ft2' },
};

function rateIn<R extends Rate>(rate: R, setting: DemoSetting): R {
  const us = US_RATES[`${rate.value} ${rate.unit}`];
  if (setting === 'metric-cool') return rate;
  if (us === undefined) throw new RangeError(`rate: expected one with a US reading, got ${rate.value} ${rate.unit}`);
  return us as R;
}

/** A product with its label in the units of the setting. */
export const productsOf = (setting: DemoSetting): readonly DemoProduct[] =>
  PRODUCTS.map((product) => ({
    ...product,
    labelRate: rateIn(product.labelRate, setting),
    labelMax: rateIn(product.labelMax, setting),
  }));

function itemIn(item: DemoSprayItem, setting: DemoSetting): DemoSprayItem {
  const rate = rateIn(item.rate, setting);
  return {
    ...item,
    rate,
    rateKgPerHa: item.rateKgPerHa === null ? null : toKgPerHa(rate as DryAreaRate),
    rateLPerHa: item.rateLPerHa === null ? null : toLPerHa(rate as LiquidAreaRate),
  };
}
export const treatmentsOf = (setting: DemoSetting): readonly DemoTreatment[] =>
  TREATMENTS.map((treatment) => ({ ...treatment, items: treatment.items.map((item) => itemIn(item, setting)) }));
export const spraysOf = (setting: DemoSetting): readonly DemoSpray[] =>
  SPRAYS.map((spray) => {
    const carrier = rateIn(spray.carrier, setting);
    return {
      ...spray,
      carrier,
      carrierLPerHa: toLPerHa(carrier),
      items: spray.items.map((item) => itemIn(item, setting)),
    };
  });

/** When it was mown and watered besides: the story's photos say how long ago. */
export const MOWN_LOCAL = [
  '2026-04-18T17:00',
  '2026-04-25T16:30',
  '2026-05-02T17:15',
  '2026-05-10T16:45',
  '2026-05-15T18:00',
] as const;
export const WATERED_LOCAL = [
  { at: '2026-04-19T05:30', minutes: 40 },
  { at: '2026-05-05T05:30', minutes: 40 },
] as const;
export const wateringOf = (setting: DemoSetting): { waterMm: number; value: number; unit: string } =>
  setting === 'us-warm' ? { waterMm: 12.7, value: 0.5, unit: 'in' } : { waterMm: 12, value: 12, unit: 'mm' };

/** The plan that lies ready: the lean mix for strip B, four days after the last photo. */
export const PLANNED = {
  startedLocal: '2026-05-22T08:00',
  keptLocal: '2026-05-19T20:00',
  strip: 'B',
  treatment: 'lean-iron',
  note: 'The lean mix once more, without the surfactant.',
} as const;

export const TRIAL = {
  name: 'How much iron is enough?',
  question:
    'Does the fuller iron rate stay greener than the lean one long enough to be worth its risk of marking the turf?',
  design: 'randomised-blocks',
  blocks: 1,
  startsOn: FIRST_DAY,
  seed: 41_326,
  photoDays: [1, 3, 7, 12],
  note: 'One strip of each: what is seen holds for these strips and cannot be generalised.',
} as const;

const STRIP_WIDTH_M = 1.5;
const STRIP_LENGTH_M = 7;
const BUFFER_M = 0.3;

function strip(id: StripId, position: number, name: string, treatment: TreatmentId): DemoStrip {
  const left = position * (STRIP_WIDTH_M + BUFFER_M);
  const right = left + STRIP_WIDTH_M;
  return {
    id,
    name,
    treatment,
    isCheck: treatment === 'check',
    polygonM: [
      [left, STRIP_LENGTH_M],
      [right, STRIP_LENGTH_M],
      [right, 0],
      [left, 0],
    ],
    areaM2: STRIP_WIDTH_M * STRIP_LENGTH_M,
  };
}

export const STRIPS: readonly DemoStrip[] = [
  strip('A', 0, 'A · unsprayed', 'check'),
  strip('B', 1, 'B · lean iron', 'lean-iron'),
  strip('C', 2, 'C · full iron', 'full-iron'),
];

const GENERIC = 'Generic material; the label figures are invented for the demo.';
export const PRODUCTS: readonly DemoProduct[] = [
  {
    id: 'ferrous-sulfate',
    name: 'Ferrous sulfate heptahydrate',
    form: 'dry',
    role: 'iron',
    densityKgPerL: null,
    nAmmoniacalPercent: 0,
    sPercent: 11.5,
    fePercent: 20,
    composition: [{ substance: 'ferrous sulfate heptahydrate', massShare: 0.98 }],
    labelRate: { value: 60, unit: 'g/100m2' },
    labelMax: { value: 125, unit: 'g/100m2' },
    minIntervalDays: 10,
    note: GENERIC,
  },
  {
    id: 'ammonium-sulfate',
    name: 'Ammonium sulfate 21-0-0-24S, soluble',
    form: 'dry',
    role: 'nitrogen',
    densityKgPerL: null,
    nAmmoniacalPercent: 21,
    sPercent: 24,
    fePercent: 0,
    composition: [{ substance: 'ammonium sulfate', massShare: 0.99 }],
    labelRate: { value: 80, unit: 'g/100m2' },
    labelMax: { value: 250, unit: 'g/100m2' },
    minIntervalDays: 7,
    note: GENERIC,
  },
  {
    id: 'citric-acid',
    name: 'Citric acid, anhydrous',
    form: 'dry',
    role: 'acidifier',
    densityKgPerL: null,
    nAmmoniacalPercent: 0,
    sPercent: 0,
    fePercent: 0,
    composition: [{ substance: 'citric acid', massShare: 0.995 }],
    labelRate: { value: 2, unit: 'g/100m2' },
    labelMax: { value: 20, unit: 'g/100m2' },
    minIntervalDays: 0,
    note: GENERIC,
  },
  {
    id: 'surfactant',
    name: 'Non-ionic surfactant',
    form: 'liquid',
    role: 'surfactant',
    densityKgPerL: 1.02,
    nAmmoniacalPercent: 0,
    sPercent: 0,
    fePercent: 0,
    composition: null,
    labelRate: { value: 12, unit: 'mL/100m2' },
    labelMax: { value: 30, unit: 'mL/100m2' },
    minIntervalDays: 0,
    note: GENERIC,
  },
];

function dry(productId: string, mixingOrder: number, gPer100M2: number): DemoSprayItem {
  const rate: DryAreaRate = { value: gPer100M2, unit: 'g/100m2' };
  return { productId, mixingOrder, rate, rateKgPerHa: toKgPerHa(rate), rateLPerHa: null };
}

function liquid(productId: string, mixingOrder: number, mlPer100M2: number): DemoSprayItem {
  const rate: LiquidAreaRate = { value: mlPer100M2, unit: 'mL/100m2' };
  return { productId, mixingOrder, rate, rateKgPerHa: null, rateLPerHa: toLPerHa(rate) };
}

function mix(ironGPer100M2: number): readonly DemoSprayItem[] {
  return [dry('citric-acid', 1, 2), dry('ammonium-sulfate', 2, 80), dry('ferrous-sulfate', 3, ironGPer100M2)];
}

const LEAN = mix(30);
const FULL = mix(110);
const TREATMENTS: readonly DemoTreatment[] = [
  { id: 'check', name: 'Unsprayed', isCheck: true, items: [] },
  { id: 'lean-iron', name: 'Lean iron', isCheck: false, items: LEAN },
  { id: 'full-iron', name: 'Full iron', isCheck: false, items: FULL },
];

function spray(
  round: number,
  treatment: 'lean-iron' | 'full-iron',
  started: string,
  ended: string,
  actualVolumeL: number,
  note: string,
  surfactant = false,
): DemoSpray {
  const items = treatment === 'lean-iron' ? LEAN : FULL;
  const carrier: LiquidAreaRate = { value: 6, unit: 'L/100m2' };
  return {
    id: `${round}-${treatment}`,
    round,
    treatment,
    stripIds: [treatment === 'lean-iron' ? 'B' : 'C'],
    startedLocal: started,
    endedLocal: ended,
    carrier,
    carrierLPerHa: toLPerHa(carrier),
    actualVolumeL,
    leftoverL: Number((0.75 - actualVolumeL).toFixed(2)),
    items: surfactant ? [...items, liquid('surfactant', 4, 12)] : items,
    note,
  };
}

export const SPRAYS: readonly DemoSpray[] = [
  spray(
    1,
    'lean-iron',
    '2026-04-14T08:10:00',
    '2026-04-14T08:16:00',
    0.63,
    'Dew gone, air still. Board held along the buffer.',
  ),
  spray(1, 'full-iron', '2026-04-14T08:35:00', '2026-04-14T08:41:00', 0.64, 'Tank rinsed between the mixes.'),
  spray(2, 'lean-iron', '2026-04-27T08:00:00', '2026-04-27T08:06:00', 0.62, 'Overcast, hardly a breath of wind.'),
  spray(2, 'full-iron', '2026-04-27T08:25:00', '2026-04-27T08:32:00', 0.65, 'As the first round.'),
  spray(
    3,
    'lean-iron',
    '2026-05-08T08:20:00',
    '2026-05-08T08:26:00',
    0.63,
    'Surfactant added for the first time, to both mixes.',
    true,
  ),
  spray(
    3,
    'full-iron',
    '2026-05-08T10:45:00',
    '2026-05-08T10:50:00',
    0.55,
    'Called away after strip B and came back late: sun out, dry wind up. Walked faster to get done.',
    true,
  ),
];

export interface PhotoDay {
  readonly date: string;
  readonly time: string;
  readonly sunny: boolean;
  readonly mownDaysAgo: number;
  readonly note: string;
}

// prettier-ignore
export const DEMO_PHOTO_DAYS: readonly PhotoDay[] = [
  { date: '2026-04-13', time: '11:05:12', sunny: true, mownDaysAgo: 2, note: 'Before anything was sprayed.' },
  { date: '2026-04-15', time: '10:48:30', sunny: true, mownDaysAgo: 4, note: 'One day after the first round.' },
  { date: '2026-04-17', time: '11:22:47', sunny: false, mownDaysAgo: 6, note: 'Cloudy, strip C clearly darker.' },
  { date: '2026-04-21', time: '11:02:05', sunny: true, mownDaysAgo: 3, note: 'A week on.' },
  { date: '2026-04-26', time: '12:10:41', sunny: true, mownDaysAgo: 1, note: 'The day before the second round: the difference is fading.' },
  { date: '2026-04-28', time: '10:55:19', sunny: false, mownDaysAgo: 3, note: 'One day after the second round.' },
  { date: '2026-04-30', time: '11:31:02', sunny: true, mownDaysAgo: 5, note: 'Three days after.' },
  { date: '2026-05-04', time: '11:08:33', sunny: false, mownDaysAgo: 2, note: 'White cloud, soft light.' },
  { date: '2026-05-07', time: '11:40:54', sunny: true, mownDaysAgo: 5, note: 'The day before the third round.' },
  { date: '2026-05-09', time: '11:15:26', sunny: true, mownDaysAgo: 7, note: 'A silvery haze across the middle of strip C.' },
  { date: '2026-05-12', time: '11:00:08', sunny: false, mownDaysAgo: 2, note: 'Haze weaker after a mowing.' },
  { date: '2026-05-18', time: '11:27:39', sunny: true, mownDaysAgo: 3, note: 'Haze grown out; last photo of the trial.' },
];

export const WISHES: Readonly<Record<string, DayWish>> = {
  '2026-04-14': { dry: true, windMPerS: 1.1, cloud: 0.25 },
  '2026-04-27': { dry: true, windMPerS: 0.9, cloud: 0.85 },
  '2026-05-08': { dry: true, windMPerS: 4.2, cloud: 0.05, warmerByC: 4.5, dewPointC: 4.5 },
  ...Object.fromEntries(DEMO_PHOTO_DAYS.map(({ date, sunny }) => [date, { dry: true, cloud: sunny ? 0.12 : 0.8 }])),
};

export const RATINGS: readonly DemoRating[] = [
  ...ratingsOn('2026-04-30T12:00:00', 'Ilse', [5, 6, 8]),
  ...ratingsOn('2026-04-30T12:05:00', 'Tomaso', [5, 7, 7]),
  ...ratingsOn('2026-05-12T11:30:00', 'Ilse', [6, 7, 6]),
  ...ratingsOn('2026-05-12T11:35:00', 'Tomaso', [6, 7, 5]),
];

function ratingsOn(
  ratedAtLocal: string,
  rater: string,
  scores: readonly [a: number, b: number, c: number],
): DemoRating[] {
  return STRIPS.map(({ id }, index) => ({
    stripId: id,
    ratedAtLocal,
    rater,
    score: scores[index] as number,
    blind: true,
  }));
}

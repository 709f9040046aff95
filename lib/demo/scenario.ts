import type { Point } from '@/lib/photo/pixels';
import { seededRandom } from '@/lib/stats/random';
import { toKgPerHa, toLPerHa, type DryAreaRate, type LiquidAreaRate, type Rate } from '@/lib/units/rate';
import { cameraAt, type Pose } from './camera';
import { gainAgainstCheck, hazeLeft, springGain, type Dose } from './response';
import { demoWeather, type DayWish, type DemoWeatherHour } from './weather';

/**
 * The demo diary: an invented lawn in an invented place, a spring strip trial that asks how much iron is enough.
 * Two mixes with the same nitrogen and different iron, sprayed on three mornings, beside an unsprayed check.
 * Everything here is made up; it shows what the diary does, and proves nothing about turf.
 */
export type StripId = 'A' | 'B' | 'C';
export type TreatmentId = 'check' | 'lean-iron' | 'full-iron';

export interface DemoStrip {
  readonly id: StripId;
  readonly name: string;
  readonly treatment: TreatmentId;
  readonly isCheck: boolean;
  /** On the lawn's plan: far-left, far-right, near-right, near-left as seen from the viewpoint. */
  readonly polygonM: readonly Point[];
  readonly areaM2: number;
}

export interface DemoProduct {
  readonly id: string;
  readonly name: string;
  readonly form: 'dry' | 'liquid';
  readonly role: 'nitrogen' | 'iron' | 'acidifier' | 'surfactant';
  readonly densityKgPerL: number | null;
  readonly nAmmoniacalPercent: number;
  readonly sPercent: number;
  readonly fePercent: number;
  /** What it is made of, as mass shares of chemical formulas; null when not known. */
  readonly composition: readonly { readonly formula: string; readonly massShare: number }[] | null;
  readonly labelRate: Rate;
  readonly labelMax: Rate;
  readonly minIntervalDays: number;
  readonly note: string;
}

export interface DemoSprayItem {
  readonly productId: string;
  readonly mixingOrder: number;
  readonly rate: DryAreaRate | LiquidAreaRate;
  /** Mass of product an area; null for a liquid. */
  readonly rateKgPerHa: number | null;
  /** Volume of product an area; null for a dry product. */
  readonly rateLPerHa: number | null;
}

export interface DemoTreatment {
  readonly id: TreatmentId;
  readonly name: string;
  readonly isCheck: boolean;
  readonly items: readonly DemoSprayItem[];
}

export interface DemoSpray {
  readonly id: string;
  readonly round: number;
  readonly treatment: TreatmentId;
  readonly stripIds: readonly StripId[];
  readonly startedLocal: string;
  readonly endedLocal: string;
  readonly carrier: LiquidAreaRate;
  readonly carrierLPerHa: number;
  readonly actualVolumeL: number;
  readonly leftoverL: number;
  readonly items: readonly DemoSprayItem[];
  readonly note: string;
}

/** The light and the phone on a day: what differs between photos though the turf doesn't. */
export interface DemoLight {
  readonly sunny: boolean;
  /** Factors on linear light: exposure for all, white balance for red and blue. */
  readonly exposure: number;
  readonly redGain: number;
  readonly blueGain: number;
}

export interface DemoHaze {
  readonly stripId: StripId;
  readonly centreM: Point;
  readonly halfWidthM: number;
  readonly halfLengthM: number;
  /** 1 fresh .. 0 gone. */
  readonly strength: number;
}

export interface DemoPhoto {
  readonly fileName: string;
  readonly viewpoint: string;
  readonly takenAtLocal: string;
  readonly utcOffsetMinutes: number;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly camera: { readonly make: string; readonly model: string; readonly exposureS: number; readonly fNumber: number; readonly iso: number; readonly focalLengthMm: number };
  /** The spray event the photo follows, null before the first. */
  readonly followsSprayId: string | null;
  readonly mownDaysAgo: number;
  readonly pose: Pose;
  readonly light: DemoLight;
  /** Rise of the dark green colour index of each strip over the pale turf of day 0. */
  readonly gainDgci: Readonly<Record<StripId, number>>;
  readonly lawnGainDgci: number;
  readonly haze: DemoHaze | null;
  /** Where the strips truly lie in the photo, in pixels, in the order of `polygonM`. */
  readonly plotCorners: Readonly<Record<StripId, readonly Point[]>>;
  readonly seed: number;
  readonly note: string;
}

export interface DemoRating {
  readonly stripId: StripId;
  readonly ratedAtLocal: string;
  readonly rater: string;
  /** 1 poorest .. 9 best. */
  readonly score: number;
  readonly blind: boolean;
}

export interface DemoScenario {
  readonly seed: number;
  readonly lawn: typeof LAWN;
  readonly sprayer: typeof SPRAYER;
  readonly viewpoint: { readonly name: string; readonly note: string };
  readonly trial: typeof TRIAL;
  readonly strips: readonly DemoStrip[];
  readonly products: readonly DemoProduct[];
  readonly treatments: readonly DemoTreatment[];
  readonly sprays: readonly DemoSpray[];
  readonly photos: readonly DemoPhoto[];
  readonly ratings: readonly DemoRating[];
  readonly weatherHours: readonly DemoWeatherHour[];
}

export const DEMO_SEED = 41_326;
const FIRST_DAY = '2026-04-13';
const LAST_DAY = '2026-05-18';
const UTC_OFFSET_MINUTES = 120;

const LAWN = {
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
} as const;

const SPRAYER = {
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
} as const;

const TRIAL = {
  name: 'How much iron is enough?',
  question: 'Does the fuller iron rate stay greener than the lean one long enough to be worth its risk of marking the turf?',
  design: 'paired-strips',
  blocks: 1,
  startsOn: FIRST_DAY,
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
    id, name, treatment,
    isCheck: treatment === 'check',
    polygonM: [[left, STRIP_LENGTH_M], [right, STRIP_LENGTH_M], [right, 0], [left, 0]],
    areaM2: STRIP_WIDTH_M * STRIP_LENGTH_M,
  };
}

const STRIPS: readonly DemoStrip[] = [
  strip('A', 0, 'A · unsprayed', 'check'),
  strip('B', 1, 'B · lean iron', 'lean-iron'),
  strip('C', 2, 'C · full iron', 'full-iron'),
];

const GENERIC = 'Generic material; the label figures are invented for the demo.';
const PRODUCTS: readonly DemoProduct[] = [
  {
    id: 'ferrous-sulfate', name: 'Ferrous sulfate heptahydrate', form: 'dry', role: 'iron', densityKgPerL: null,
    nAmmoniacalPercent: 0, sPercent: 11.5, fePercent: 20, composition: [{ formula: 'FeSO4·7H2O', massShare: 0.98 }],
    labelRate: { value: 60, unit: 'g/100m2' }, labelMax: { value: 125, unit: 'g/100m2' }, minIntervalDays: 10, note: GENERIC,
  },
  {
    id: 'ammonium-sulfate', name: 'Ammonium sulfate 21-0-0-24S, soluble', form: 'dry', role: 'nitrogen', densityKgPerL: null,
    nAmmoniacalPercent: 21, sPercent: 24, fePercent: 0, composition: [{ formula: '(NH4)2SO4', massShare: 0.99 }],
    labelRate: { value: 80, unit: 'g/100m2' }, labelMax: { value: 250, unit: 'g/100m2' }, minIntervalDays: 7, note: GENERIC,
  },
  {
    id: 'citric-acid', name: 'Citric acid, anhydrous', form: 'dry', role: 'acidifier', densityKgPerL: null,
    nAmmoniacalPercent: 0, sPercent: 0, fePercent: 0, composition: [{ formula: 'C6H8O7', massShare: 0.995 }],
    labelRate: { value: 2, unit: 'g/100m2' }, labelMax: { value: 20, unit: 'g/100m2' }, minIntervalDays: 0, note: GENERIC,
  },
  {
    id: 'surfactant', name: 'Non-ionic surfactant', form: 'liquid', role: 'surfactant', densityKgPerL: 1.02,
    nAmmoniacalPercent: 0, sPercent: 0, fePercent: 0, composition: null,
    labelRate: { value: 12, unit: 'mL/100m2' }, labelMax: { value: 30, unit: 'mL/100m2' }, minIntervalDays: 0, note: GENERIC,
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

function spray(round: number, treatment: 'lean-iron' | 'full-iron', started: string, ended: string, actualVolumeL: number, note: string, surfactant = false): DemoSpray {
  const items = treatment === 'lean-iron' ? LEAN : FULL;
  const carrier: LiquidAreaRate = { value: 6, unit: 'L/100m2' };
  return {
    id: `${round}-${treatment}`, round, treatment,
    stripIds: [treatment === 'lean-iron' ? 'B' : 'C'],
    startedLocal: started, endedLocal: ended,
    carrier, carrierLPerHa: toLPerHa(carrier),
    actualVolumeL, leftoverL: Number((0.75 - actualVolumeL).toFixed(2)),
    items: surfactant ? [...items, liquid('surfactant', 4, 12)] : items,
    note,
  };
}

const SPRAYS: readonly DemoSpray[] = [
  spray(1, 'lean-iron', '2026-04-14T08:10:00', '2026-04-14T08:16:00', 0.63, 'Dew gone, air still. Board held along the buffer.'),
  spray(1, 'full-iron', '2026-04-14T08:35:00', '2026-04-14T08:41:00', 0.64, 'Tank rinsed between the mixes.'),
  spray(2, 'lean-iron', '2026-04-27T08:00:00', '2026-04-27T08:06:00', 0.62, 'Overcast, hardly a breath of wind.'),
  spray(2, 'full-iron', '2026-04-27T08:25:00', '2026-04-27T08:32:00', 0.65, 'As the first round.'),
  spray(3, 'lean-iron', '2026-05-08T08:20:00', '2026-05-08T08:26:00', 0.63, 'Surfactant added for the first time, to both mixes.', true),
  spray(3, 'full-iron', '2026-05-08T10:45:00', '2026-05-08T10:50:00', 0.55, 'Called away after strip B and came back late: sun out, dry wind up. Walked faster to get done.', true),
];

interface PhotoDay {
  readonly date: string;
  readonly time: string;
  readonly sunny: boolean;
  readonly mownDaysAgo: number;
  readonly note: string;
}

const PHOTO_DAYS: readonly PhotoDay[] = [
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

const WISHES: Readonly<Record<string, DayWish>> = {
  '2026-04-14': { dry: true, windMPerS: 1.1, cloud: 0.25 },
  '2026-04-27': { dry: true, windMPerS: 0.9, cloud: 0.85 },
  '2026-05-08': { dry: true, windMPerS: 4.2, cloud: 0.05, warmerByC: 4.5, dewPointC: 4.5 },
  ...Object.fromEntries(PHOTO_DAYS.map(({ date, sunny }) => [date, { dry: true, cloud: sunny ? 0.12 : 0.8 }])),
};

const RATINGS: readonly DemoRating[] = [
  ...ratingsOn('2026-04-30T12:00:00', 'Ilse', [5, 6, 8]),
  ...ratingsOn('2026-04-30T12:05:00', 'Tomaso', [5, 7, 7]),
  ...ratingsOn('2026-05-12T11:30:00', 'Ilse', [6, 7, 6]),
  ...ratingsOn('2026-05-12T11:35:00', 'Tomaso', [6, 7, 5]),
];

function ratingsOn(ratedAtLocal: string, rater: string, scores: readonly [a: number, b: number, c: number]): DemoRating[] {
  return STRIPS.map(({ id }, index) => ({ stripId: id, ratedAtLocal, rater, score: scores[index] as number, blind: true }));
}

const DAY_MS = 86_400_000;

/** Days from the first midnight of the trial to a local time. */
export function trialDay(local: string): number {
  return (Date.parse(`${local}Z`) - Date.parse(`${FIRST_DAY}T00:00:00Z`)) / DAY_MS;
}

/** The iron and nitrogen each spray put on a strip. */
export function dosesOn(stripId: StripId): Dose[] {
  return SPRAYS.filter((event) => event.stripIds.includes(stripId)).map((event) => {
    let [ironKgPerHa, nitrogenKgPerHa] = [0, 0];
    for (const item of event.items) {
      const product = PRODUCTS.find(({ id }) => id === item.productId);
      ironKgPerHa += ((product?.fePercent ?? 0) / 100) * (item.rateKgPerHa ?? 0);
      nitrogenKgPerHa += ((product?.nAmmoniacalPercent ?? 0) / 100) * (item.rateKgPerHa ?? 0);
    }
    return { atDay: trialDay(event.startedLocal), ironKgPerHa, nitrogenKgPerHa };
  });
}

export const PHOTO_WIDTH_PX = 1600;
export const PHOTO_HEIGHT_PX = 1200;

/** The demo's diary, the same for the same seed: chance decides the weather and how the phone was held, not the story. */
export function demoScenario(seed = DEMO_SEED): DemoScenario {
  const random = seededRandom(seed);
  return {
    seed,
    lawn: LAWN,
    sprayer: SPRAYER,
    viewpoint: { name: 'From the third step', note: 'Standing on the third step of the back door, phone at chest height, fence along the top.' },
    trial: TRIAL,
    strips: STRIPS,
    products: PRODUCTS,
    treatments: TREATMENTS,
    sprays: SPRAYS,
    photos: PHOTO_DAYS.map((day, index) => demoPhoto(day, index, random)),
    ratings: RATINGS,
    weatherHours: demoWeather({ ...LAWN, utcOffsetMinutes: UTC_OFFSET_MINUTES }, FIRST_DAY, LAST_DAY, WISHES, seed),
  };
}

function demoPhoto(day: PhotoDay, index: number, random: ReturnType<typeof seededRandom>): DemoPhoto {
  const takenAtLocal = `${day.date}T${day.time}`;
  const at = trialDay(takenAtLocal);
  const about = (middle: number, spread: number) => middle + spread * (2 * random.next() - 1);
  const pose: Pose = {
    xM: about(2.55, 0.07), yM: about(-3.2, 0.08), heightM: about(2.4, 0.04),
    bearingDeg: about(0, 0.8), downDeg: about(24.4, 0.6), rollDeg: about(0, 0.8), focalPx: 1060,
  };
  const exposure = about(day.sunny ? 1.04 : 0.95, 0.09);
  const light: DemoLight = { sunny: day.sunny, exposure, redGain: about(day.sunny ? 1.02 : 0.97, 0.025), blueGain: about(day.sunny ? 0.97 : 1.05, 0.03) };
  const latest = SPRAYS.findLast((event) => event.startedLocal < takenAtLocal);
  const hazeSpray = SPRAYS.find(({ id }) => id === '3-full-iron') as DemoSpray;
  const strength = hazeLeft(at - trialDay(hazeSpray.startedLocal));
  const gain = (id: StripId) => springGain(at) + gainAgainstCheck(dosesOn(id), at);
  return {
    fileName: `orchard-green-${day.date}.jpg`,
    viewpoint: 'From the third step',
    takenAtLocal,
    utcOffsetMinutes: UTC_OFFSET_MINUTES,
    widthPx: PHOTO_WIDTH_PX,
    heightPx: PHOTO_HEIGHT_PX,
    camera: { make: 'Demo', model: 'Drawn lawn camera', exposureS: day.sunny ? 1 / 800 : 1 / 320, fNumber: 1.8, iso: 50, focalLengthMm: 4.2 },
    followsSprayId: latest?.id ?? null,
    mownDaysAgo: day.mownDaysAgo,
    pose,
    light,
    gainDgci: { A: gain('A'), B: gain('B'), C: gain('C') },
    lawnGainDgci: springGain(at),
    haze: strength > 0.06 ? { stripId: 'C', centreM: [4.4, 3.1], halfWidthM: 0.5, halfLengthM: 1.5, strength } : null,
    plotCorners: cornersSeenFrom(pose),
    seed: Math.floor(random.next() * 2 ** 31) + index,
    note: day.note,
  };
}

function cornersSeenFrom(pose: Pose): Record<StripId, readonly Point[]> {
  const camera = cameraAt(pose, PHOTO_WIDTH_PX, PHOTO_HEIGHT_PX);
  const seen = (id: StripId) => (STRIPS.find((one) => one.id === id) as DemoStrip).polygonM.map(([x, y]) => camera.project(x, y, 0).point);
  return { A: seen('A'), B: seen('B'), C: seen('C') };
}

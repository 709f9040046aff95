import { DAY_MS } from '@/lib/units/time';
import type { Point } from '@/lib/photo/raster/pixels';
import { seededRandom } from '@/lib/stats/random';
import { cameraAt, type Pose } from './camera';
import { gainAgainstCheck, hazeLeft, springGain, type Dose } from './response';
import {
  FIRST_DAY,
  LAST_DAY,
  lawnOf,
  DEMO_PHOTO_DAYS,
  PRODUCTS,
  productsOf,
  RATINGS,
  sprayerOf,
  SPRAYS,
  spraysOf,
  STRIPS,
  treatmentsOf,
  TRIAL,
  utcOffsetMinutes,
  WISHES,
  type DemoLawnFacts,
  type DemoSetting,
  type DemoSprayer,
  type PhotoDay,
} from './story';
import { demoWeather, type DemoWeatherHour } from './weather';
import type { StripId, DemoStrip, DemoProduct, DemoTreatment, DemoSpray, DemoRating } from './demo-facts';

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
  readonly camera: {
    readonly make: string;
    readonly model: string;
    readonly exposureS: number;
    readonly fNumber: number;
    readonly iso: number;
    readonly focalLengthMm: number;
  };
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

export interface DemoScenario {
  readonly seed: number;
  readonly setting: DemoSetting;
  readonly lawn: DemoLawnFacts;
  readonly sprayer: DemoSprayer;
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

/** Days from the first midnight of the trial to a local time. */
function trialDay(local: string): number {
  return (Date.parse(`${local}Z`) - Date.parse(`${FIRST_DAY}T00:00:00Z`)) / DAY_MS;
}

/**
 * The iron and nitrogen each spray put on a strip.
 * Exported so that the story is held to the amounts it tells of.
 */
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

const PHOTO_WIDTH_PX = 1600;

const PHOTO_HEIGHT_PX = 1200;

/**
 * The demo's diary, the same for the same seed: chance decides the weather and how the phone was held, not the story.
 */
export function demoScenario(seed = DEMO_SEED, setting: DemoSetting = 'metric-cool'): DemoScenario {
  const random = seededRandom(seed);
  return {
    seed,
    setting,
    lawn: lawnOf(setting),
    sprayer: sprayerOf(setting),
    viewpoint: {
      name: 'From the third step',
      note: 'Standing on the third step of the back door, phone at chest height, fence along the top.',
    },
    trial: TRIAL,
    strips: STRIPS,
    products: productsOf(setting),
    treatments: treatmentsOf(setting),
    sprays: spraysOf(setting),
    photos: DEMO_PHOTO_DAYS.map((day, index) => demoPhoto(day, index, random, setting)),
    ratings: RATINGS,
    weatherHours: demoWeather(
      { ...lawnOf(setting), utcOffsetMinutes: utcOffsetMinutes(setting) },
      FIRST_DAY,
      LAST_DAY,
      WISHES,
      seed,
    ),
  };
}

function demoPhoto(
  day: PhotoDay,
  index: number,
  random: ReturnType<typeof seededRandom>,
  setting: DemoSetting,
): DemoPhoto {
  const takenAtLocal = `${day.date}T${day.time}`;
  const at = trialDay(takenAtLocal);
  const about = (middle: number, spread: number) => middle + spread * (2 * random.next() - 1);
  const pose: Pose = {
    xM: about(2.55, 0.07),
    yM: about(-3.2, 0.08),
    heightM: about(2.4, 0.04),
    bearingDeg: about(0, 0.8),
    downDeg: about(24.4, 0.6),
    rollDeg: about(0, 0.8),
    focalPx: 1060,
  };
  const exposure = about(day.sunny ? 1.04 : 0.95, 0.09);
  const light: DemoLight = {
    sunny: day.sunny,
    exposure,
    redGain: about(day.sunny ? 1.02 : 0.97, 0.025),
    blueGain: about(day.sunny ? 0.97 : 1.05, 0.03),
  };
  const latest = SPRAYS.findLast((event) => event.startedLocal < takenAtLocal);
  const hazeSpray = SPRAYS.find(({ id }) => id === '3-full-iron') as DemoSpray;
  const strength = hazeLeft(at - trialDay(hazeSpray.startedLocal));
  const gain = (id: StripId) => springGain(at) + gainAgainstCheck(dosesOn(id), at);
  return {
    fileName: `${lawnOf(setting).name.toLowerCase().replace(' ', '-')}-${day.date}.jpg`,
    viewpoint: 'From the third step',
    takenAtLocal,
    utcOffsetMinutes: utcOffsetMinutes(setting),
    widthPx: PHOTO_WIDTH_PX,
    heightPx: PHOTO_HEIGHT_PX,
    camera: {
      make: 'Demo',
      model: 'Drawn lawn camera',
      exposureS: day.sunny ? 1 / 800 : 1 / 320,
      fNumber: 1.8,
      iso: 50,
      focalLengthMm: 4.2,
    },
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
  const seen = (id: StripId) =>
    (STRIPS.find((one) => one.id === id) as DemoStrip).polygonM.map(([x, y]) => camera.project(x, y, 0).point);
  return { A: seen('A'), B: seen('B'), C: seen('C') };
}

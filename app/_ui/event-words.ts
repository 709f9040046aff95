import type {
  LawnEvent,
  LawnEventKind,
  ProductUse,
  RenovationKind,
  SightingKind,
  TrafficKind,
} from '@/lib/trial/lawn-event';
import { showDryRate, showLiquidRate, significant, type UnitSystem } from '@/lib/units/display';
import { grassText, minutesText, waterText } from './weather-text';

/** The word on an entry and in filters. */
export const eventKindWords: Record<LawnEventKind, string> = {
  mowing: 'Mown',
  watering: 'Watered',
  rain: 'Rain',
  product: 'Product spread',
  traffic: 'Traffic',
  sighting: 'Seen',
  renovation: 'Renovated',
};

export const productUseWords: Record<ProductUse, string> = {
  fertiliser: 'fertiliser',
  'weed-control': 'weed control',
  'disease-control': 'disease control',
  'insect-control': 'insect control',
  'growth-regulator': 'growth regulator',
  'wetting-agent': 'wetting agent',
  lime: 'lime',
  'seed-treatment': 'seed treatment',
  other: 'something else',
};

export const trafficWords: Record<TrafficKind, string> = {
  feet: 'feet',
  play: 'play and games',
  animals: 'animals',
  wheels: 'wheels',
};

export const sightingWords: Record<SightingKind, string> = {
  disease: 'disease',
  insects: 'insects',
  weeds: 'weeds',
  animals: 'animals',
  drought: 'drought',
};

export const renovationWords: Record<RenovationKind, string> = {
  seeded: 'seeded',
  overseeded: 'overseeded',
  sodded: 'sod laid',
  aerated: 'aerated',
  dethatched: 'dethatched',
  topdressed: 'topdressed',
};

const capital = (text: string) => text.slice(0, 1).toUpperCase() + text.slice(1);
const joined = (parts: readonly (string | null | false)[]) => parts.filter((part) => part).join(', ');

/**
 * What an event was, in a few words: "to 60 mm, passes along 45°, blade sharpened". Empty where only its kind is known.
 */
export function eventText(event: LawnEvent, system: UnitSystem): string {
  switch (event.kind) {
    case 'mowing':
      return joined([
        event.heightMm !== null && `to ${grassText(event.heightMm / 1000, system)}`,
        event.directionDeg !== null && `passes along ${significant(event.directionDeg)}°`,
        event.bladeSharpened && 'blade sharpened',
      ]);
    case 'watering':
    case 'rain':
      return joined([
        event.waterMm !== null && waterText(event.waterMm, system),
        event.minutes !== null && minutesText(event.minutes),
      ]);
    case 'product': {
      const rate =
        event.rateLPerHa !== null
          ? showLiquidRate(event.rateLPerHa, system).text
          : event.rateKgPerHa !== null
            ? showDryRate(event.rateKgPerHa, system).text
            : null;
      return joined([event.name, rate, productUseWords[event.use]]);
    }
    case 'traffic':
      return joined([capital(trafficWords[event.traffic]), event.name]);
    case 'sighting':
      return joined([
        `${capital(sightingWords[event.seen])}: ${event.name}`,
        event.sharePercent !== null && `${significant(event.sharePercent)}% of the ground`,
      ]);
    case 'renovation':
      return capital(renovationWords[event.done]);
  }
}

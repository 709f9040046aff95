import type { TestedFactor } from '@/lib/explain/read-cause-test';
import type { MarkKind } from '@/lib/photo/marks/kind';
import type { GrassSeason } from '@/lib/spray/grass-season';

/** The record behind a mark. Everything may be null where it was not written down. */
export interface MarkRecord {
  readonly kind: MarkKind;
  /** Days from the spray to the first photo that shows the mark. */
  readonly daysAfterSpray: number;
  /**
   * Days from the spray to the last photo that shows the plot without the mark: it arose after that. Null when no photo
   * lies between spray and first sight, so that it may have arisen at any time since the spray.
   */
  readonly clearUntilDays?: number | null;
  /** True when a photo from before the spray shows the same patch. */
  readonly seenBeforeSpray: boolean | null;
  /** True when the unsprayed check shows the like. */
  readonly alsoOnCheck: boolean | null;
  readonly grassSeason: GrassSeason | null;
  readonly ironKgPerHa: number | null;
  /** Whether a product with iron was in the tank: known even where its rate isn't. */
  readonly ironInMix?: boolean;
  readonly labelMaxIronKgPerHa: number | null;
  readonly daysSinceLastIron: number | null;
  readonly labelMinIntervalDays: number | null;
  readonly nitrogenKgPerHa: number | null;
  /** All dissolved fertiliser in the tank (% weight by volume), a liquid's own water not counted. */
  readonly solutionPercentWV: number | null;
  readonly carrierLPerHa: number | null;
  readonly labelMinCarrierLPerHa: number | null;
  /** Estimated minutes until the film was dry. */
  readonly dryingMinutes: number | null;
  readonly airTempC: number | null;
  /** Highest temperature in the 24 h after the spray. */
  readonly maxTempNext24hC: number | null;
  readonly windMPerS: number | null;
  readonly surfactant: boolean | null;
  readonly ammoniumSalt: boolean | null;
  /** Hours of sun left after spraying; 0 at or after sunset. */
  readonly sunLeftHours: number | null;
  /** Iron sulfate together with a phosphate in the tank. */
  readonly ironWithPhosphate: boolean | null;
  readonly tankPh: number | null;
  /** Up to which pH the mix keeps its iron, by its weakest chelate; for a plain salt that of salts. */
  readonly ironHoldsToPh?: number | null;
  /** Share of the plot covered twice (0-1), where it is known. */
  readonly overlapShare: number | null;
  /** Rain or irrigation in the first 4 h (mm). */
  readonly waterWithin4hMm: number | null;
  /** True where somebody watered then and measured nothing: the millimetres are a guess. */
  readonly waterWithin4hGuessed?: boolean;
  /** Of the water used, mg/L as CaCO3. */
  readonly hardnessMgPerLCaCO3: number | null;
  /** Geometric mean of calcium and sulfate in the tank, mmol/L: gypsum falls out near 14.5. */
  readonly gypsumMmolPerL: number | null;
  /** Hours from sunrise to the photo that first shows the mark; negative before. */
  readonly photoHoursAfterSunrise: number | null;
  /** Whether another photo shows the same patch later in a day, when dew and frost are gone. */
  readonly seenAfterDew?: boolean;
  /** Whether the leaves were wet in that hour. */
  readonly leafWetAtPhoto: boolean | null;
  /** Lowest temperature of the 12 h before that photo. */
  readonly nightMinTempC: number | null;
  /** Mowings written down in the 60 days before the mark. */
  readonly mowingsKnown: number;
  /** Days from the last mowing to the first photo of the mark, within 10; null: none written down. */
  readonly mownDaysBefore: number | null;
  readonly mownSinceSpray: boolean | null;
  /** Days from the last sharpening; null: none written down. */
  readonly sharpenedDaysBefore: number | null;
  /** Share by which the last cut was lower than the one before, 0-1. */
  readonly cutLowerShare: number | null;
  readonly wheelsDaysBefore: number | null;
  readonly trafficKnown: boolean;
  /** Whether waterings are written down at all. */
  readonly wateringKnown: boolean;
  /** Evaporation since the last 5 mm of rain or watering, mm. */
  readonly etSinceWaterMm: number | null;
  /** Hours a day the leaves were wet, over the five days before the mark. */
  readonly wetHoursPerDay: number | null;
  readonly diseaseSeenDaysBefore: number | null;
  readonly insectsSeenDaysBefore: number | null;
  readonly droughtSeenDaysBefore: number | null;
  readonly sightingsKnown: boolean;
  readonly weedControlDaysBefore: number | null;
  readonly productsKnown: boolean;
  /** Days since topdressing, lime or aeration: what leaves dust. */
  readonly dustDaysBefore: number | null;
  /** Rain between spray and mark, mm. */
  readonly rainSinceSprayMm: number | null;
  /** What trials laid out to find this cause have shown. */
  readonly tested?: readonly TestedFactor[];
}

/** How long a film should stay wet, as the planner judges it: one yardstick for planning and for looking back. */
export interface DryingYardstick {
  readonly leastWetMin: number;
  readonly goodWetMin: number;
}

/** Exported so that every cause is seen to be weighed. */
export const CAUSE_IDS = [
  'iron-on-leaf',
  'too-much-iron',
  'iron-too-soon',
  'strong-solution',
  'dried-too-fast',
  'heat',
  'surfactant-with-ammonium',
  'overlap-or-wind',
  'dried-residue',
  'hard-water-film',
  'mower',
  'drought',
  'dew-or-frost',
  'leaf-disease',
  'mites',
  'herbicide-bleaching',
  'dust',
  'not-the-spray',
] as const;

export type CauseId = (typeof CAUSE_IDS)[number];

/** How strongly the record points to a cause; 'not weighed' where the diary holds no record that could. */
export type CauseStrength = 'likely' | 'possible' | 'unlikely' | 'not weighed';

/** One piece of evidence with its numbers and where the yardstick comes from. */
export interface CauseEvidence {
  readonly text: string;
  /** Author and year, or 'common practice, no source'. */
  readonly source: string;
  /** 'tested' comes from a trial of the cause itself and outweighs what was only written down. */
  readonly weight: 'tested' | 'decisive' | 'strong' | 'some';
}

/** A different way to spray, for the drying and rate models to put numbers to. */
export interface SprayWhatIf {
  readonly id:
    | 'twice-the-carrier'
    | 'half-the-iron'
    | 'wait-for-interval'
    | 'later-in-the-evening'
    | 'cooler-day'
    | 'without-surfactant'
    | 'calmer-hour'
    | 'half-the-strength';
  readonly text: string;
  /** What to change in the plan; a factor multiplies what was used. */
  readonly change: Readonly<
    Partial<
      Record<
        | 'carrierFactor'
        | 'ironFactor'
        | 'strengthFactor'
        | 'waitDays'
        | 'hoursLater'
        | 'maxTempC'
        | 'maxWindMPerS'
        | 'surfactantFactor',
        number
      >
    >
  >;
}

export interface CauseFinding {
  readonly cause: CauseId;
  readonly title: string;
  readonly strength: CauseStrength;
  /** One sentence; says "likely", never "is". */
  readonly sentence: string;
  readonly evidenceFor: readonly CauseEvidence[];
  readonly evidenceAgainst: readonly CauseEvidence[];
  /** What the record does not hold and would decide more. */
  readonly unknown: readonly string[];
  /** What to do at the lawn to tell it from the others. */
  readonly look: string;
  readonly whatIf: readonly SprayWhatIf[];
}

/** The findings, strongest first, or why there are none. */
export type CauseReport =
  | { readonly kind: 'findings'; readonly findings: readonly CauseFinding[]; readonly sentences: readonly string[] }
  | { readonly kind: 'too-late'; readonly sentences: readonly string[] };

/** A mark is linked to a spray for this many days. Common practice, no source. */
export const LINK_DAYS = 10;

/** What a cause was found to have for and against it, while it is weighed. */
export interface CauseDraft {
  readonly forIt: CauseEvidence[];
  readonly against: CauseEvidence[];
  readonly unknown: string[];
  readonly whatIf: SprayWhatIf[];
  /** Set when the diary holds no record that could speak for it: then it isn't weighed. */
  notWeighed: string | null;
}

/** A cause and how it is weighed. */
export interface Cause {
  readonly cause: CauseId;
  readonly title: string;
  /** Kinds of mark it can make. */
  readonly kinds: readonly MarkKind[];
  readonly look: string;
  readonly weigh: (record: MarkRecord, yardstick: DryingYardstick) => CauseDraft;
}

/**
 * What may have made a mark: the evidence for and against each cause, weighed in words. It never says what is the
 * cause: a record holds what was written down, and a patch can have a reason nobody wrote down.
 */
import type { TestedFactor } from '@/lib/explain/cause-test';
import { aroseAfter, decisive, round } from '@/lib/explain/draft';
import type { MarkKind } from '@/lib/photo/marks/kind';
import type { GrassSeason } from '@/lib/spray/grass-season';
import { OTHER_CAUSES } from '@/lib/explain/other-causes';
import { SPRAY_CAUSES } from '@/lib/explain/spray-causes';

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
  /** Share of the plot covered twice (0-1), where it is known. */
  readonly overlapShare: number | null;
  /** Rain or irrigation in the first 4 h (mm). */
  readonly waterWithin4hMm: number | null;
  /** Of the water used, mg/L as CaCO3. */
  readonly hardnessMgPerLCaCO3: number | null;
  /** Geometric mean of calcium and sulfate in the tank, mmol/L: gypsum falls out near 14.5. */
  readonly gypsumMmolPerL: number | null;
  /** Hours from sunrise to the photo that first shows the mark; negative before. */
  readonly photoHoursAfterSunrise: number | null;
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

/** A wider gap between the last photo without a mark and the first with it is said. Our own choice, no source. */
const UNCERTAIN_DAYS = 2;

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

const POINTS: Readonly<Record<CauseEvidence['weight'], number>> = { tested: 10, decisive: 4, strong: 2, some: 1 };
const points = (evidence: readonly CauseEvidence[]): number =>
  evidence.reduce((sum, one) => sum + POINTS[one.weight], 0);
const RANK: Readonly<Record<CauseStrength, number>> = { likely: 0, possible: 1, unlikely: 2, 'not weighed': 3 };

/**
 * 'likely' needs three points more for than against and one strong piece; 'possible' one more for than against. Our own
 * rule, no source.
 */
function strengthOf(d: CauseDraft): CauseStrength {
  if (d.notWeighed !== null) return 'not weighed';
  const balance = points(d.forIt) - points(d.against);
  if (balance >= 3 && d.forIt.some((one) => one.weight !== 'some')) return 'likely';
  return balance >= 1 ? 'possible' : 'unlikely';
}

const weightiest = (evidence: readonly CauseEvidence[]): CauseEvidence | undefined =>
  evidence.toSorted((a, b) => POINTS[b.weight] - POINTS[a.weight])[0];

function sentenceFor(title: string, strength: CauseStrength, d: CauseDraft): string {
  if (d.notWeighed !== null) return `${title}: not weighed, ${d.notWeighed}.`;
  const lead = weightiest(d.forIt);
  const but = weightiest(d.against);
  if (strength === 'unlikely') return `${title}: unlikely${but ? `, as ${but.text}` : ' from what the record holds'}.`;
  return `${title}: ${strength}, as ${lead?.text ?? 'the record holds'}${but ? `; against it, ${but.text}` : ''}.`;
}

/** What the photos say of a spray's causes, whatever the rates: no higher than this. */
function heldDown(record: MarkRecord): { most: CauseStrength; evidence: CauseEvidence } | null {
  if (record.seenBeforeSpray === true)
    return { most: 'unlikely', evidence: decisive('a photo from before the spray shows it already', 'the photos') };
  // Drift may reach a check, so what it shows is held at possible.
  return record.alsoOnCheck === true
    ? { most: 'possible', evidence: decisive('the unsprayed check shows the like', 'the photos') }
    : null;
}

/** What trials of the cause showed, with their limits; a factor that was not told changes nothing. */
function addTested(d: CauseDraft, cause: CauseId, tested: readonly TestedFactor[]): void {
  for (const one of tested.filter(({ verdict, causes }) => verdict !== 'open' && causes.includes(cause))) {
    d.notWeighed = null;
    (one.verdict === 'for' ? d.forIt : d.against).push({
      text: `${one.text}; ${one.limits}`,
      source: `the trial ${one.trialName}`,
      weight: one.shown ? 'tested' : 'decisive',
    });
  }
}

const SPRAY_IDS: ReadonlySet<CauseId> = new Set(SPRAY_CAUSES.map(({ cause }) => cause));
const lower = (text: string): string => text.charAt(0).toLowerCase() + text.slice(1);

/**
 * Weighs each cause for a mark that may have arisen within ten days of a spray, whenever it was first seen.
 * @param yardstick minutes a film should stay wet, as the planner has them
 * @returns findings, strongest first ('likely', 'possible', 'unlikely', then what the diary has no record of), each
 *   with its evidence; or 'too-late' beyond ten days
 * @throws RangeError when the days are negative or not a number
 */
export function findCauses(record: MarkRecord, yardstick: DryingYardstick): CauseReport {
  const { daysAfterSpray } = record;
  const after = aroseAfter(record);
  if (!(Number.isFinite(daysAfterSpray) && daysAfterSpray >= 0))
    throw new RangeError(`daysAfterSpray: expected 0 or more days, got ${daysAfterSpray}`);
  if (!(Number.isFinite(after) && after >= 0 && after <= daysAfterSpray))
    throw new RangeError(`clearUntilDays: expected 0 to ${daysAfterSpray} days, got ${after}`);
  if (after > LINK_DAYS) {
    return {
      kind: 'too-late',
      sentences: [
        `A photo ${round(after)} days after the last spray does not show the mark yet. What arises more than ${LINK_DAYS} days after a spray is not linked to it here.`,
      ],
    };
  }
  const held = heldDown(record);
  const causes = [...SPRAY_CAUSES, ...OTHER_CAUSES].filter(({ kinds }) => kinds.includes(record.kind));
  const weighed = causes.map(({ cause, title, look, weigh }) => {
    const d = weigh(record, yardstick);
    addTested(d, cause, record.tested ?? []);
    const bySpray = SPRAY_IDS.has(cause);
    if (bySpray && held !== null) d.against.push(held.evidence);
    let strength = strengthOf(d);
    if (bySpray && held !== null && RANK[strength] < RANK[held.most]) strength = held.most;
    const finding: CauseFinding = {
      cause,
      title,
      strength,
      look,
      sentence: sentenceFor(title, strength, d),
      evidenceFor: d.forIt,
      evidenceAgainst: d.against,
      unknown: [...new Set(d.unknown)],
      whatIf: strength === 'likely' || strength === 'possible' ? d.whatIf : [],
    };
    return { finding, balance: points(d.forIt) - points(d.against), bySpray };
  });
  weighed.sort((a, b) => {
    const byStrength = RANK[a.finding.strength] - RANK[b.finding.strength];
    if (byStrength !== 0) return byStrength;
    // A cause with a name says more than 'something else'.
    const [aElse, bElse] = [
      a.finding.cause === 'not-the-spray' && !b.bySpray,
      b.finding.cause === 'not-the-spray' && !a.bySpray,
    ];
    return aElse !== bElse ? Number(aElse) - Number(bElse) : b.balance - a.balance;
  });
  const findings = weighed.map(({ finding }) => finding);
  const gap =
    daysAfterSpray - after > UNCERTAIN_DAYS
      ? [
          `It arose some time between ${after === 0 ? 'the spray' : `day ${round(after)}`} and day ${round(daysAfterSpray)}: no photo lies between, so early causes are weighed as well as late ones.`,
        ]
      : [];
  const [lead, ...rest] = summed(findings);
  return { kind: 'findings', findings, sentences: [lead ?? '', ...gap, ...rest] };
}

function summed(findings: readonly CauseFinding[]): string[] {
  const likely = findings.filter((one) => one.strength === 'likely');
  const [first, ...more] = likely;
  const lead =
    first === undefined
      ? 'Nothing in the record makes one cause likely.'
      : more.length === 0
        ? `Most likely from the record: ${lower(first.title)}.`
        : `Most likely from the record: ${lower(first.title)}; ${more.map((one) => lower(one.title)).join(', ')} may have worked with it.`;
  return [
    lead,
    'This weighs what was written down; a closer look at the leaf, a test strip, or the county extension service can tell more.',
  ];
}

/** The answer to a what-if once the drying model has been run for both cases. */
export function dryingWhatIfSentence(what: string, at: string, minutesThen: number, minutesNow: number): string {
  return `${what} at ${at} would have dried in ${round(minutesThen, 0)} min instead of ${round(minutesNow, 0)} (an estimate).`;
}

import type { TestedFactor } from '@/lib/explain/read-cause-test';
import { aroseAfter, decisive, round } from '@/lib/explain/draft';
import { OTHER_CAUSES } from '@/lib/explain/other-causes';
import { SPRAY_CAUSES } from '@/lib/explain/spray-causes';
import {
  LINK_DAYS,
  type CauseEvidence,
  type CauseStrength,
  type CauseDraft,
  type MarkRecord,
  type CauseId,
  type DryingYardstick,
  type CauseReport,
  type CauseFinding,
} from './causes';

/** A wider gap between the last photo without a mark and the first with it is said. Our own choice, no source. */
const UNCERTAIN_DAYS = 2;

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

/** Causes that the tank had nothing for: what a trial showed speaks for the others it was about. */
function notInTank(cause: CauseId, r: MarkRecord): boolean {
  if (cause === 'iron-on-leaf' || cause === 'too-much-iron' || cause === 'iron-too-soon') return r.ironKgPerHa === 0;
  return cause === 'surfactant-with-ammonium' && (r.surfactant === false || r.ammoniumSalt === false);
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
    if (!notInTank(cause, record)) addTested(d, cause, record.tested ?? []);
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
  const [first, ...others] = likely;
  // 'Something other than the spray' adds nothing to a cause with a name that lies elsewhere.
  const more = others.filter(
    ({ cause }) => cause !== 'not-the-spray' || (first !== undefined && SPRAY_IDS.has(first.cause)),
  );
  const named = (alike: boolean): string =>
    more
      .filter(({ cause }) => (SPRAY_IDS.has(cause) === (first !== undefined && SPRAY_IDS.has(first.cause))) === alike)
      .map((one) => lower(one.title))
      .join(', ');
  const [withIt, instead] = [named(true), named(false)];
  const lead =
    first === undefined
      ? 'Nothing in the record makes one cause likely.'
      : more.length === 0
        ? `Most likely from the record: ${lower(first.title)}.`
        : `Most likely from the record: ${lower(first.title)}${withIt === '' ? '' : `; ${withIt} may have worked with it`}${instead === '' ? '' : `; it could also be ${instead}`}.`;
  return [
    lead,
    'This weighs what was written down; a closer look at the leaf, a test strip, or the county extension service can tell more.',
  ];
}

/** The answer to a what-if once the drying model has been run for both cases. */
export function dryingWhatIfSentence(what: string, at: string, minutesThen: number, minutesNow: number): string {
  return `${what} at ${at} would have dried in ${round(minutesThen, 0)} min instead of ${round(minutesNow, 0)} (an estimate).`;
}

import 'server-only';
import { findLawn, type Lawn } from '@/lib/diary/lawns';
import type { KeptCaution } from '@/lib/diary/photos';
import { measurementsOfTrial, type Measurement } from '@/lib/diary/measurements';
import { ratingsOfTrial, type Rating } from '@/lib/diary/ratings';
import { listSprays, type Spray } from '@/lib/diary/sprays';
import {
  findTrial,
  listOmissions,
  photosShowing,
  readingsOfPlots,
  type Omission,
  type PlotReadingRow,
  type Trial,
  type TrialPlot,
} from '@/lib/diary/trials';
import { countsFrom, EVER } from '@/lib/trial/counts-from';
import { daysBetween } from '@/lib/trial/due';
import { changesIn, type PlotChange } from '../photos/changes';
import { localOfInstant } from '../diary/lawn-time';
import type { Mark } from '../photos/marks';
import { cautionsOf } from '../photos/photo-cautions';
import { withRatersAsFirstWritten } from './raters';
import { spraysOfTrial } from './trial-sprays';

/** A reading with its day in the trial and its reading from before the first spray. */
export interface TrialReading extends PlotReadingRow {
  readonly on: string;
  /** Days since the first spray; a reading from before it is 0 at most, one after it 0 at least. */
  readonly day: number;
  readonly isBefore: boolean;
  /** The plot's last reading before the first spray from the same viewpoint, or null. */
  readonly baseline: PlotReadingRow | null;
  /**
   * Its change against the check, by the one definition; null for the check itself, for a baseline and where there is
   * none.
   */
  readonly change: PlotChange | null;
  /** True for the check that the photo's other plots are compared with: its own change is nothing. */
  readonly isReference: boolean;
  readonly cautions: readonly KeptCaution[];
}

export interface TrialRecord {
  readonly trial: Trial;
  readonly lawn: Lawn;
  /**
   * Sprays that were done on the trial's plots, oldest first: all of them on plots the trial itself laid out, else from
   * its planned day on.
   */
  readonly sprays: readonly Spray[];
  /** Sprays on its plots before they count: they were plots of the lawn before the trial. */
  readonly spraysBefore: readonly Spray[];
  readonly firstSprayAt: Date | null;
  /** Civil date of the first spray; the planned one as long as nothing was sprayed. */
  readonly firstSprayOn: string;
  readonly readings: readonly TrialReading[];
  /** Oldest first, each rater under the name they were first written down by. */
  readonly ratings: readonly (Rating & { readonly on: string; readonly day: number })[];
  /** What was weighed, read off or counted on its plots. */
  readonly measurements: readonly (Measurement & { readonly on: string; readonly day: number })[];
  readonly omissions: readonly Omission[];
  /** Marks that nobody dismissed. */
  readonly marks: readonly Mark[];
  /** How many of its photos are being worked out: their readings are missing here. */
  readonly pending: number;
}

/** Number on the stake of a plot of the trial. */
export function labelOf(trial: Trial, plotId: string): string {
  return (
    trial.layout.strips.find((strip) => strip.plotId === plotId)?.label ??
    trial.plots.find((plot) => plot.plotId === plotId)?.plot.name ??
    '?'
  );
}

/** The treatment of a plot in words; a split plot's two together. */
export function treatmentOf(trial: Trial, plot: TrialPlot): string {
  const name = (id: string | null) => trial.treatments.find((treatment) => treatment.id === id)?.name ?? '';
  return plot.subTreatmentId === null
    ? name(plot.treatmentId)
    : `${name(plot.treatmentId)} + ${name(plot.subTreatmentId)}`;
}

/** True for a plot that stays unsprayed. */
export function isUnsprayed(trial: Trial, plot: TrialPlot): boolean {
  const of = (id: string | null) => trial.treatments.find((treatment) => treatment.id === id);
  const [main, sub] = [of(plot.treatmentId), of(plot.subTreatmentId)];
  return (main?.items.length ?? 0) === 0 && (sub?.items.length ?? 0) === 0;
}

/** A trial with all that has come in so far. */
export async function readTrial(trialId: string): Promise<TrialRecord | null> {
  const trial = await findTrial(trialId);
  const lawn = trial ? await findLawn(trial.lawnId) : null;
  if (!trial || !lawn) return null;
  const plotIds = trial.plots.map((plot) => plot.plotId);
  const [allSprays, allRows, ratings, measurements, omissions, photoIds] = await Promise.all([
    listSprays(lawn.id, { plotIds }),
    readingsOfPlots(plotIds),
    ratingsOfTrial(trial.id),
    measurementsOfTrial(trial.id),
    listOmissions(trial.id),
    photosShowing(plotIds),
  ]);
  const { changes, pending, stands, marks } = await changesIn(lawn.id, photoIds);
  const cautions = await cautionsOf(lawn, photoIds, stands);
  const rows = allRows.filter((row) => !pending.has(row.photoId));
  const changeOf = new Map(changes.map((change) => [`${change.photoId} ${change.plotId}`, change]));
  const references = new Set(changes.map((change) => `${change.photoId} ${change.checkPlotId}`));
  const dateOf = (instant: Date) => localOfInstant(instant, lawn.timeZone).slice(0, 10);
  const done = allSprays
    .filter((spray) => spray.state === 'done')
    .map((spray) => ({ ...spray, plotIds: spray.plots.map((covered) => covered.plotId) }));
  const from = countsFrom(trial);
  const onPlots = spraysOfTrial({ startsOn: EVER, plotIds }, done, lawn.timeZone);
  const sprays = spraysOfTrial({ startsOn: from, plotIds }, done, lawn.timeZone);
  const firstSprayAt = sprays[0]?.startedAt ?? null;
  const firstSprayOn = firstSprayAt ? dateOf(firstSprayAt) : trial.startsOn;
  const isBefore = (at: Date) => (firstSprayAt ? at < firstSprayAt : dateOf(at) <= firstSprayOn);
  const readings = rows.map((row): TrialReading => {
    const before = isBefore(row.takenAt);
    const day = daysBetween(firstSprayOn, dateOf(row.takenAt));
    return {
      ...row,
      on: dateOf(row.takenAt),
      day: before ? Math.min(0, day) : Math.max(0, day),
      isBefore: before,
      change: changeOf.get(`${row.photoId} ${row.plotId}`) ?? null,
      isReference: references.has(`${row.photoId} ${row.plotId}`) && !changeOf.has(`${row.photoId} ${row.plotId}`),
      cautions: cautions.get(row.photoId) ?? [],
      baseline:
        rows.findLast(
          (other) =>
            other.plotId === row.plotId &&
            isBefore(other.takenAt) &&
            other.photo.viewpointId === row.photo.viewpointId &&
            other.dgci !== null,
        ) ?? null,
    };
  });
  return {
    trial,
    lawn,
    sprays,
    spraysBefore: onPlots.filter((spray) => dateOf(spray.startedAt) < from),
    firstSprayAt,
    firstSprayOn,
    readings,
    ratings: withRatersAsFirstWritten(ratings).map((rating) => ({
      ...rating,
      on: dateOf(rating.seenAt),
      day: daysBetween(firstSprayOn, dateOf(rating.seenAt)),
    })),
    measurements: measurements.map((one) => ({
      ...one,
      on: dateOf(one.measuredAt),
      day: daysBetween(firstSprayOn, dateOf(one.measuredAt)),
    })),
    omissions,
    marks: marks.filter(
      (mark) => plotIds.includes(mark.plotId) && mark.state !== 'dismissed' && !pending.has(mark.photoId),
    ),
    pending: pending.size,
  };
}

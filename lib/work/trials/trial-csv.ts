import 'server-only';
import { longCsv, type LongRow } from '@/lib/trial/long-csv';
import type { Figure } from '../photos/changes';
import { labelOf, type TrialRecord } from './trial-record';

/**
 * Every value of a trial in long form: index of each reading, its change, and the ratings. Photos are named by date
 * only: no place.
 */
export function trialCsv(record: TrialRecord): string {
  const { trial } = record;
  const treatmentName = (id: string | null) => trial.treatments.find((treatment) => treatment.id === id)?.name ?? null;
  const common = (plotId: string, on: string, day: number) => {
    const plot = trial.plots.find((one) => one.plotId === plotId);
    return {
      trial: trial.name,
      on,
      dayOfTrial: day,
      block: String((plot?.block ?? 0) + 1),
      plot: labelOf(trial, plotId),
      treatment: treatmentName(plot?.treatmentId ?? null) ?? '',
      subTreatment: treatmentName(plot?.subTreatmentId ?? null),
    };
  };
  const because = (photoId: string, plotId: string) =>
    trial.plots.find((one) => one.plotId === plotId)?.excludedReason ??
    record.omissions.find((one) => one.photoId === photoId && (one.plotId === null || one.plotId === plotId))?.reason ??
    null;
  const rows: LongRow[] = [
    ...record.readings.flatMap((reading): LongRow[] => {
      const row = {
        ...common(reading.plotId, reading.on, reading.day),
        photo: reading.photo.fileName,
        methodVersion: reading.methodVersion,
        excludedBecause: because(reading.photoId, reading.plotId),
      };
      return [
        {
          ...row,
          measure: 'dark green colour index',
          value: reading.dgci,
          low95: reading.dgciLow95,
          high95: reading.dgciHigh95,
          unit: 'index 0-1',
        },
      ];
    }),
    ...changeRows(record, common, because),
    ...record.ratings.map((rating): LongRow => ({
      ...common(rating.plotId, rating.on, rating.day),
      measure: `rating by ${rating.rater}${rating.blind ? ', blind' : ''}`,
      value: rating.score,
      low95: null,
      high95: null,
      unit: 'points 1-9',
      photo: record.readings.find((reading) => reading.photoId === rating.photoId)?.photo.fileName ?? null,
      methodVersion: null,
      excludedBecause: trial.plots.find((one) => one.plotId === rating.plotId)?.excludedReason ?? null,
    })),
  ];
  return longCsv([...rows, ...measuredRows(record, common)]);
}

/** What was measured on the lawn, in the diary's own unit. */
function measuredRows(
  { trial, measurements }: TrialRecord,
  common: (
    plotId: string,
    on: string,
    day: number,
  ) => Pick<LongRow, 'trial' | 'on' | 'dayOfTrial' | 'block' | 'plot' | 'treatment' | 'subTreatment'>,
): LongRow[] {
  return measurements.map((one) => ({
    ...common(one.plotId, one.on, one.day),
    measure: one.name,
    value: one.value,
    low95: null,
    high95: null,
    unit: one.kind === 'clippings' ? 'g' : one.enteredUnit || (one.kind === 'count' ? 'number' : 'as read'),
    photo: null,
    methodVersion: null,
    excludedBecause: trial.plots.find((plot) => plot.plotId === one.plotId)?.excludedReason ?? null,
  }));
}

/**
 * The change against the check as it stands on every page; where marks are left out, the same with all ground counted
 * beside it.
 */
function changeRows(
  record: TrialRecord,
  common: (
    plotId: string,
    on: string,
    day: number,
  ) => Pick<LongRow, 'trial' | 'on' | 'dayOfTrial' | 'block' | 'plot' | 'treatment' | 'subTreatment'>,
  because: (photoId: string, plotId: string) => string | null,
): LongRow[] {
  return record.readings.flatMap((reading): LongRow[] => {
    const { change } = reading;
    if (!change || change.isBaseline || !change.sinceSpray) return [];
    const row = {
      ...common(reading.plotId, reading.on, reading.day),
      unit: 'index 0-1',
      photo: reading.photo.fileName,
      methodVersion: reading.methodVersion,
      excludedBecause: because(reading.photoId, reading.plotId) ?? change.refused,
    };
    const figure = (measure: string, of: Figure | null): LongRow => ({
      ...row,
      measure,
      value: of?.value ?? null,
      low95: of?.low95 ?? null,
      high95: of?.high95 ?? null,
    });
    return [
      figure('change against the check', change.headline),
      ...(change.marksLeftOut > 0 ? [figure('change against the check, marked patches counted', change.otherWay)] : []),
    ];
  });
}

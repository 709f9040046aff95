import 'server-only';
import type { TrialFindings } from './trial-analysis';
import { analyseRecord } from './trial-analysis';
import { longCsv, type LongRow } from '@/lib/trial/long-csv';
import { labelOf, type TrialRecord } from './trial-record';

/** Every value of a trial in long form: index of each reading, its change, and the ratings. Photos are named by date only: no place. */
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
      const row = { ...common(reading.plotId, reading.on, reading.day), photo: reading.photo.fileName, methodVersion: reading.methodVersion, excludedBecause: because(reading.photoId, reading.plotId) };
      return [{ ...row, measure: 'dark green colour index', value: reading.dgci, low95: reading.dgciLow95, high95: reading.dgciHigh95, unit: 'index 0-1' }];
    }),
    ...changeRows(record, common),
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
  return longCsv(rows);
}

function changeRows(record: TrialRecord, common: (plotId: string, on: string, day: number) => Omit<LongRow, 'measure' | 'value' | 'low95' | 'high95' | 'unit' | 'photo' | 'methodVersion' | 'excludedBecause'>): LongRow[] {
  const findings: TrialFindings = analyseRecord(record, { measure: 'change', comparison: 'tukey', marked: 'with' });
  return findings.values.flatMap((value): LongRow[] => {
    const plotId = record.trial.layout.strips.find((strip) => strip.label === value.plot)?.plotId;
    const reading = record.readings.find((one) => one.plotId === plotId && one.day === value.day);
    if (!plotId || !reading) return [];
    return [
      {
        ...common(plotId, reading.on, value.day),
        measure: 'change of the index since before the first spray',
        value: value.value !== null && value.baseline != null ? value.value - value.baseline : null,
        low95: value.ownInterval?.[0] ?? null,
        high95: value.ownInterval?.[1] ?? null,
        unit: 'index 0-1',
        photo: null,
        methodVersion: reading.methodVersion,
        excludedBecause: value.excludedBecause ?? null,
      },
    ];
  });
}


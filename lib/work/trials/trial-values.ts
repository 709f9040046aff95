import 'server-only';
import type { MARKED, TrialMeasure } from '@/lib/forms/trial-form';
import { DEFAULT_PARAMETERS } from '@/lib/photo/measure/measure';
import type { PlotValue } from '@/lib/trial/analyse';
import { columnKey, columnValue } from '@/lib/trial/measurement';
import { countingAllGround, type Figure } from '../photos/changes';
import { labelOf, type TrialReading, type TrialRecord } from './trial-record';

export interface AnalysisChoices {
  measure: TrialMeasure;
  /** The key of the measured column, where one is analysed. */
  column?: string | null;
  comparison: 'tukey' | 'lsd';
  /**
   * Marked patches are left out of the ground compared, or counted with it; 'without' leaves out every strip that
   * carries one in that photo.
   */
  marked: (typeof MARKED)[number];
  /** Largest difference from the check that still counts as none; null asks nothing. */
  margin?: number | null;
}

const z95 = 1.959964;

const standardError = (reading: { dgciLow95: number | null; dgciHigh95: number | null }): number =>
  reading.dgciLow95 === null || reading.dgciHigh95 === null
    ? DEFAULT_PARAMETERS.photoSd
    : (reading.dgciHigh95 - reading.dgciLow95) / (2 * z95);

const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;

/** Why a reading must not count, or null. */
function omittedBecause(
  record: TrialRecord,
  reading: { photoId: string; plotId: string },
  marked: AnalysisChoices['marked'],
): string | null {
  const plot = record.trial.plots.find((one) => one.plotId === reading.plotId);
  if (plot?.excludedReason) return plot.excludedReason;
  const omission = record.omissions.find(
    (one) => one.photoId === reading.photoId && (one.plotId === null || one.plotId === reading.plotId),
  );
  if (omission) return omission.reason;
  if (
    marked === 'without' &&
    record.marks.some((mark) => mark.photoId === reading.photoId && mark.plotId === reading.plotId)
  )
    return 'a mark lies on the plot in this photo';
  return null;
}

/** One value a plot and day: several photos of a day are averaged, those left out apart. */
export function valuesOf(record: TrialRecord, choices: AnalysisChoices): PlotValue[] {
  const { trial } = record;
  const name = (id: string | null) => trial.treatments.find((treatment) => treatment.id === id)?.name ?? null;
  const common = (plotId: string) => {
    const plot = trial.plots.find((one) => one.plotId === plotId);
    return plot === undefined
      ? null
      : {
          plot: labelOf(trial, plotId),
          block: String(plot.block + 1),
          column: String(plot.position + 1),
          treatment: name(plot.treatmentId) ?? '?',
          subTreatment: name(plot.subTreatmentId),
        };
  };
  if (choices.measure === 'rating') {
    const days = [...new Set(record.ratings.map((rating) => rating.day))].sort((a, b) => a - b);
    return days.flatMap((day) =>
      trial.plots.flatMap((plot): PlotValue[] => {
        const own = common(plot.plotId);
        const scores = record.ratings
          .filter((rating) => rating.day === day && rating.plotId === plot.plotId)
          .map((rating) => rating.score);
        return own
          ? [{ ...own, day, value: scores.length > 0 ? mean(scores) : null, excludedBecause: plot.excludedReason }]
          : [];
      }),
    );
  }
  if (choices.measure === 'measured') {
    const values = record.measurements.filter((one) => columnKey(one) === choices.column);
    return [...new Set(values.map((one) => one.day))]
      .sort((a, b) => a - b)
      .flatMap((day) =>
        trial.plots.flatMap((plot): PlotValue[] => {
          const own = common(plot.plotId);
          const read = values
            .filter((one) => one.day === day && one.plotId === plot.plotId)
            .map((one) => columnValue(one, record.lawn.unitSystem));
          return own
            ? [{ ...own, day, value: read.length > 0 ? mean(read) : null, excludedBecause: plot.excludedReason }]
            : [];
        }),
      );
  }
  if (choices.measure === 'change-against-check') return changesAgainstCheck(record, choices, common);
  const relative = choices.measure !== 'index';
  const days = [
    ...new Set(record.readings.filter((reading) => !relative || !reading.isBefore).map((reading) => reading.day)),
  ].sort((a, b) => a - b);
  return days.flatMap((day) => {
    const ofDay = record.readings.filter((reading) => reading.day === day && (!relative || !reading.isBefore));
    return trial.plots.flatMap((plot): PlotValue[] => {
      const own = common(plot.plotId);
      if (!own) return [];
      const all = ofDay.filter((reading) => reading.plotId === plot.plotId && reading.dgci !== null);
      const kept = all.filter((reading) => omittedBecause(record, reading, choices.marked) === null);
      const because =
        all.length > 0 && kept.length === 0
          ? omittedBecause(record, all[0] as TrialReading, choices.marked)
          : (plot.excludedReason ?? null);
      const withBaseline = relative ? kept.filter((reading) => reading.baseline !== null) : kept;
      const used = withBaseline.length > 0 ? withBaseline : kept;
      return [
        {
          ...own,
          day,
          value: used.length > 0 ? mean(used.map((reading) => reading.dgci as number)) : null,
          baseline:
            relative && withBaseline.length > 0
              ? mean(withBaseline.map((reading) => reading.baseline?.dgci as number))
              : null,
          ownInterval: intervalOf(used, choices),
          excludedBecause: because,
        },
      ];
    });
  });
}

/**
 * The change against the check of every plot and day, as it stands on every other page (changes.ts). The check the
 * others are compared with stands at nothing: it is the same amount off for all plots of a photo, so that every
 * comparison of treatments keeps its value and the scatter of the checks stays in the error.
 */
function changesAgainstCheck(
  record: TrialRecord,
  choices: AnalysisChoices,
  common: (plotId: string) => Pick<PlotValue, 'plot' | 'block' | 'column' | 'treatment' | 'subTreatment'> | null,
): PlotValue[] {
  const after = record.readings.filter((reading) => !reading.isBefore);
  const days = [...new Set(after.map((reading) => reading.day))].sort((a, b) => a - b);
  const figureOf = (reading: TrialReading): Figure | null => {
    if (reading.isReference) return { value: 0, low95: null, high95: null };
    const { change } = reading;
    if (
      !change ||
      !change.sinceSpray ||
      change.isBaseline ||
      (record.firstSprayAt !== null && change.baselineAt >= record.firstSprayAt)
    )
      return null;
    return choices.marked === 'counted' ? countingAllGround(change) : change.headline;
  };
  return days.flatMap((day) =>
    record.trial.plots.flatMap((plot): PlotValue[] => {
      const own = common(plot.plotId);
      if (!own) return [];
      const all = after.filter(
        (reading) => reading.day === day && reading.plotId === plot.plotId && reading.dgci !== null,
      );
      const kept = all.filter((reading) => omittedBecause(record, reading, choices.marked) === null);
      const figures = kept.flatMap((reading) => figureOf(reading) ?? []);
      const refused = kept.flatMap((reading) => reading.change?.refused ?? [])[0];
      const omitted =
        all.length > 0 && kept.length === 0
          ? omittedBecause(record, all[0] as TrialReading, choices.marked)
          : plot.excludedReason;
      const [only] = figures;
      return [
        {
          ...own,
          day,
          value: figures.length > 0 ? mean(figures.map((figure) => figure.value)) : kept.length > 0 ? 0 : null,
          baseline: figures.length > 0 ? 0 : null,
          ownInterval:
            figures.length === 1 && only && only.low95 !== null && only.high95 !== null
              ? [only.low95, only.high95]
              : null,
          excludedBecause: omitted ?? (figures.length === 0 && refused ? refused : null),
        },
      ];
    }),
  );
}

/** The strip's own interval in the unit of the measure: errors of the readings that make it, added in quadrature. */
function intervalOf(used: readonly TrialReading[], { measure }: AnalysisChoices): [number, number] | null {
  const reading = used.length === 1 ? used[0] : undefined;
  if (!reading || reading.dgci === null) return null;
  if (measure === 'index')
    return reading.dgciLow95 === null || reading.dgciHigh95 === null ? null : [reading.dgciLow95, reading.dgciHigh95];
  if (!reading.baseline || reading.baseline.dgci === null) return null;
  if (measure === 'adjusted-for-baseline') return null;
  const change = reading.dgci - reading.baseline.dgci;
  const reach = z95 * Math.hypot(standardError(reading), standardError(reading.baseline));
  return [change - reach, change + reach];
}

import 'server-only';
import { DAY_MS, HOUR_MS } from '@/lib/units/time';
import { isDoubt } from '@/lib/photo/cautions';
import { listSprayers } from '@/lib/diary/sprayers';
import { weatherHoursBetween } from '@/lib/diary/weather-hours';
import { analyseRecord, type TrialFindings } from './trial-analysis';
import { localOfInstant } from '../diary/lawn-time';
import { ratingAgreement, type RatingAgreement } from './rating-agreement';
import { marksByDay } from './test-a-cause';
import { treatmentMixes, type TreatmentMix } from './treatment-mixes';
import { labelOf, treatmentOf, type TrialRecord } from './trial-record';
import { columnKey, columnsOf, type MeasuredColumn } from '@/lib/trial/measurement';
import { momentText } from '@/lib/units/dates';

export interface ReportSpray {
  id: string;
  /** Local date and time, yyyy-mm-dd hh:mm. */
  when: string;
  day: number;
  strips: string[];
  items: { name: string; form: string; rateEnteredValue: number; rateEnteredUnit: string }[];
  carrierLPerHa: number | null;
  airTempC: number | null;
  relHumidityPercent: number | null;
  windMPerS: number | null;
}

export interface ReportWeather {
  hours: number;
  lowestC: number | null;
  highestC: number | null;
  rainMm: number | null;
  /** Hours without a rain or temperature value in the span. */
  gapsHours: number;
}

export interface FilmFrame {
  photoId: string;
  plotId: string;
}

/**
 * All that a report shows, without the lawn's name, its place or its coordinates: the same for the owner and for a
 * shared link.
 */
export interface TrialReport {
  record: TrialRecord;
  mixes: TreatmentMix[];
  sprays: ReportSpray[];
  weather: ReportWeather | null;
  film: { dates: string[]; rows: { label: string; treatment: string; frames: (FilmFrame | null)[] }[] };
  change: TrialFindings;
  ratings: TrialFindings | null;
  /** What else was measured on the strips. */
  measured: { column: MeasuredColumn; findings: TrialFindings }[];
  marks: ReturnType<typeof marksByDay>;
  agreement: RatingAgreement | null;
  methods: { version: string; corrections: string[] }[];
  photoCautions: { on: string; sentences: string[] }[];
}

export async function reportTrial(record: TrialRecord): Promise<TrialReport> {
  const { trial, lawn, readings } = record;
  const sprayers = await listSprayers(lawn.id);
  const dates = [...new Set(readings.map((reading) => reading.on))];
  const last = readings.at(-1)?.takenAt ?? record.sprays.at(-1)?.startedAt ?? null;
  const first = readings[0]?.takenAt ?? record.firstSprayAt;
  return {
    record,
    mixes: treatmentMixes(trial, sprayers[0] ?? null),
    sprays: record.sprays.map((spray) => ({
      id: spray.id,
      when: momentText(spray.startedAt, lawn),
      day: Math.round(
        (Date.parse(localOfInstant(spray.startedAt, lawn.timeZone).slice(0, 10)) - Date.parse(record.firstSprayOn)) /
          DAY_MS,
      ),
      strips: spray.plots
        .filter((covered) => trial.plots.some((plot) => plot.plotId === covered.plotId))
        .map((covered) => labelOf(trial, covered.plotId)),
      items: spray.items.map((item) => ({
        name: item.product.name,
        form: item.product.form,
        rateEnteredValue: item.rateEnteredValue,
        rateEnteredUnit: item.rateEnteredUnit,
      })),
      carrierLPerHa: spray.carrierLPerHa,
      airTempC: spray.airTempC,
      relHumidityPercent: spray.relHumidityPercent,
      windMPerS: spray.windMPerS,
    })),
    weather: first && last ? await weatherOf(lawn.id, first, last) : null,
    film: {
      dates,
      rows: trial.plots.map((plot) => ({
        label: labelOf(trial, plot.plotId),
        treatment: treatmentOf(trial, plot),
        frames: dates.map((on) => {
          const reading = readings.find((one) => one.on === on && one.plotId === plot.plotId);
          return reading ? { photoId: reading.photoId, plotId: plot.plotId } : null;
        }),
      })),
    },
    change: analyseRecord(record, { measure: 'change-against-check', comparison: 'tukey', marked: 'left-out' }),
    ratings:
      record.ratings.length > 0
        ? analyseRecord(record, { measure: 'rating', comparison: 'tukey', marked: 'left-out' })
        : null,
    measured: columnsOf(record.measurements, lawn.unitSystem).map((column) => ({
      column,
      findings: analyseRecord(record, {
        measure: 'measured',
        column: columnKey(column),
        comparison: 'tukey',
        marked: 'left-out',
      }),
    })),
    marks: marksByDay(record),
    agreement: record.ratings.length > 0 ? ratingAgreement(record) : null,
    methods: [...new Set(readings.map((reading) => reading.methodVersion))].map((version) => ({
      version,
      corrections: [
        ...new Set(
          readings.filter((reading) => reading.methodVersion === version).map((reading) => reading.correction),
        ),
      ],
    })),
    photoCautions: dates.flatMap((on) => {
      const sentences = [
        ...new Set(
          readings
            .filter((reading) => reading.on === on)
            .flatMap((reading) =>
              reading.cautions.filter((caution) => isDoubt(caution.code)).map((caution) => caution.sentence),
            ),
        ),
      ];
      return sentences.length > 0 ? [{ on, sentences }] : [];
    }),
  };
}

async function weatherOf(lawnId: string, from: Date, to: Date): Promise<ReportWeather | null> {
  const hours = await weatherHoursBetween(lawnId, from, to);
  if (hours.length === 0) return null;
  const temperatures = hours.flatMap((hour) => (hour.airTempC === null ? [] : [hour.airTempC]));
  const rain = hours.flatMap((hour) => (hour.rainMm === null ? [] : [hour.rainMm]));
  return {
    hours: hours.length,
    lowestC: temperatures.length > 0 ? Math.min(...temperatures) : null,
    highestC: temperatures.length > 0 ? Math.max(...temperatures) : null,
    rainMm: rain.length > 0 ? rain.reduce((sum, mm) => sum + mm, 0) : null,
    gapsHours: Math.max(0, Math.round((to.getTime() - from.getTime()) / HOUR_MS) - hours.length),
  };
}

/** Is this photo, and this plot in it, part of the trial? What a shared link may show. */
export function isOfTrial(record: TrialRecord, photoId: string, plotId?: string): boolean {
  return record.readings.some(
    (reading) => reading.photoId === photoId && (plotId === undefined || reading.plotId === plotId),
  );
}

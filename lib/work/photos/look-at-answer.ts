import 'server-only';
import { HOUR_MS } from '@/lib/units/time';
import { findLawn } from '@/lib/diary/lawns';
import { readAnswerSeries } from '@/lib/forms/queries/answer-series';
import { guessColumn, unitFromText, type ColumnField } from '@/lib/forms/weather/weather-columns';
import type { ServiceLook } from '@/lib/forms/weather/weather-service';
import { hourlyService } from '@/lib/station/hourly-service';
import { memoryCache } from '@/lib/station/memory-cache';

/** One name of the answer: its first figures, and what of the diary's it seems to be. */
export interface AnswerName {
  readonly name: string;
  readonly sample: readonly number[];
  readonly field: ColumnField | null;
  readonly unit: string | null;
}
export type AnswerLook = { ok: true; names: AnswerName[]; from: string; to: string } | { ok: false; message: string };

const SAMPLES = 3;

/** Asks a service once, keeps nothing, and says what names its answer holds. */
export async function lookAtAnswer(
  lawnId: string,
  { name, addressTemplate, fieldNames, timeoutS }: ServiceLook,
  now: Date,
): Promise<AnswerLook> {
  const lawn = await findLawn(lawnId);
  if (!lawn || lawn.latitudeDeg === null || lawn.longitudeDeg === null)
    return {
      ok: false,
      message: 'Expected the lawn’s latitude and longitude, got none; fill them in on the Lawn page.',
    };
  let came: unknown;
  const service = hourlyService({
    name,
    addressTemplate,
    fieldNames,
    cache: memoryCache(),
    now: () => now.getTime(),
    timeoutMs: timeoutS * 1000,
    tries: 1,
    parse: (json) => {
      came = json;
      return { ok: false, sentence: '' };
    },
  });
  const reply = await service.load({
    latitudeDeg: lawn.latitudeDeg,
    longitudeDeg: lawn.longitudeDeg,
    fromUtcMs: now.getTime() - 24 * HOUR_MS,
    toUtcMs: now.getTime() + 72 * HOUR_MS,
  });
  if (came === undefined)
    return { ok: false, message: reply.kind === 'failed' ? reply.sentence : 'Expected an answer, got none.' };
  const found = readAnswerSeries(came);
  if ('ok' in found) return { ok: false, message: found.sentence };
  const taken = new Set<ColumnField>();
  const names = Object.entries(found.series).map(([own, list]): AnswerName => {
    const guess = guessColumn(own.replaceAll('.', ' '));
    const field = guess && !taken.has(guess.field) ? guess.field : null;
    if (field) taken.add(field);
    const stated = found.units[own];
    return {
      name: own,
      sample: list.filter((one) => one !== null).slice(0, SAMPLES),
      field,
      unit:
        field === null ? null : ((stated === undefined ? null : unitFromText(field, stated)) ?? guess?.unit ?? null),
    };
  });
  return { ok: true, names, from: String(found.time[0]), to: String(found.time.at(-1)) };
}

import 'server-only';
import { WEATHER_FIELDS, type WeatherField, type WeatherHour as HourOfWeather } from '@/lib/weather/hour';
import { missingFigures, WIND_FIELDS } from '@/lib/weather/missing-figures';
import { Prisma } from '@prisma/client';
import { diary } from './client';
import { epochMs, instant, rowsOfJson, storedInstant, wholeNumber } from './sql';

/** An hour as the diary keeps it: the figures, and who measured them (`a + b` where two sources made one hour). */
export interface KeptWeatherHour extends HourOfWeather {
  hourStart: Date;
  source: string;
}

export type WeatherHourInput = Partial<Record<WeatherField, number | null>> & {
  hourStart: Date | string;
  source: string;
};

/** Where hours lie: later files above earlier ones, files above typed hours, all above the service. */
const SERVICE_LAYER = 0;
const PLAIN_LAYER = 1;

const columns = ['hourStart', ...WEATHER_FIELDS] as const;
/** Rows handed to one statement as one JSON text: few enough that other requests are served in between. */
const chunk = 1000;

/** New figures over old ones, where there are new ones: what a later answer doesn't say, it doesn't take away. */
const renewed = WEATHER_FIELDS.map((field) => {
  const old = `"WeatherHour"."${field}"`;
  return WIND_FIELDS.includes(field)
    ? `"${field}" = CASE WHEN excluded."windMPerS" IS NULL AND excluded."gustMPerS" IS NULL THEN ${old} ELSE excluded."${field}" END`
    : `"${field}" = COALESCE(excluded."${field}", ${old})`;
}).join(', ');

const KEY = '("lawnId", "hourStart", "layer")';

/**
 * Writes hours into one layer. An hour that is there stays as it is, or takes the new figures when `renew` says so.
 * @returns how many rows were written
 */
async function writeLayer(
  lawnId: string,
  to: { layer: number; importId: string | null; source: string | null; renew: boolean },
  hours: readonly (Partial<Record<WeatherField, number | null>> & { at: string; source?: string })[],
): Promise<number> {
  const { rows, cell } = rowsOfJson(
    JSON.stringify(
      hours.map((hour) => [hour.at, ...WEATHER_FIELDS.map((field) => hour[field] ?? null), to.source ?? hour.source]),
    ),
  );
  const picked = Prisma.join([
    cell(columns.length, 'text'),
    cell(0, 'instant'),
    ...WEATHER_FIELDS.map((_, index) => cell(index + 1, 'number')),
  ]);
  const then = to.renew ? `DO UPDATE SET "source" = excluded."source", ${renewed}` : 'DO NOTHING';
  return diary().$executeRaw`
    INSERT INTO "WeatherHour" ("lawnId", "layer", "importId", "source", ${Prisma.raw(columns.map((column) => `"${column}"`).join(', '))})
    SELECT ${lawnId}, ${wholeNumber(to.layer)}, ${to.importId}, ${picked} FROM ${rows} WHERE true ON CONFLICT ${Prisma.raw(`${KEY} ${then}`)}`;
}

/** Writes hours that came without a file and are not there yet. @returns how many were written */
export async function addWeatherHours(lawnId: string, hours: readonly WeatherHourInput[]): Promise<number> {
  let written = 0;
  for (let at = 0; at < hours.length; at += chunk) {
    const rows = hours
      .slice(at, at + chunk)
      .map(({ hourStart, ...hour }) => ({ ...hour, at: storedInstant(hourStart) }));
    written += await writeLayer(lawnId, { layer: PLAIN_LAYER, importId: null, source: null, renew: false }, rows);
  }
  return written;
}

/**
 * Writes the hours of one file into its layer.
 * @param onProgress called after each statement with the hours written so far
 */
export async function writeImportHours(
  target: { lawnId: string; layer: number; importId: string; source: string },
  hours: readonly HourOfWeather[],
  onProgress?: (written: number) => void,
): Promise<number> {
  let written = 0;
  for (let at = 0; at < hours.length; at += chunk) {
    const rows = hours.slice(at, at + chunk).map((hour) => ({ ...hour, at: storedInstant(hour.hourStartUtcMs) }));
    written += await writeLayer(target.lawnId, { ...target, renew: false }, rows);
    onProgress?.(written);
    await new Promise((go) => {
      setImmediate(go);
    });
  }
  return written;
}

/**
 * Keeps past hours of the weather service; the newest figure for an hour stands, and none is lost for want of a newer
 * one.
 */
export async function keepServiceHours(
  lawnId: string,
  source: string,
  hours: readonly HourOfWeather[],
): Promise<number> {
  const rows = hours.map((hour) => ({ ...hour, at: storedInstant(hour.hourStartUtcMs) }));
  return rows.length === 0
    ? 0
    : writeLayer(lawnId, { layer: SERVICE_LAYER, importId: null, source, renew: true }, rows);
}

export async function removeServiceHours(lawnId: string): Promise<number> {
  return (await diary().weatherHour.deleteMany({ where: { lawnId, layer: SERVICE_LAYER } })).count;
}

export async function countServiceHours(lawnId: string): Promise<number> {
  return diary().weatherHour.count({ where: { lawnId, layer: SERVICE_LAYER } });
}

type Row = Record<WeatherField, number | null> & { at: number; source: string };

/**
 * The hours of a lawn from one instant up to, not including, another, in order of time. Where several sources cover an
 * hour each figure comes from the highest layer that has it; wind and the height it was measured at stay together.
 */
export async function weatherHoursBetween(lawnId: string, from: Date, to: Date): Promise<KeptWeatherHour[]> {
  const rows = await diary().$queryRaw<Row[]>`
    SELECT ${epochMs('"hourStart"')} AS "at", "source", ${Prisma.raw(WEATHER_FIELDS.map((field) => `"${field}"`).join(', '))}
    FROM "WeatherHour" WHERE "lawnId" = ${lawnId} AND "hourStart" >= ${instant(from)} AND "hourStart" < ${instant(to)} ORDER BY "hourStart", "layer" DESC`;
  const hours: KeptWeatherHour[] = [];
  for (const { at, ...row } of rows) {
    const upper = hours.at(-1);
    if (upper?.hourStartUtcMs === at) hours[hours.length - 1] = overlaid(upper, row);
    else hours.push({ hourStartUtcMs: at, hourStart: new Date(at), ...row });
  }
  return hours;
}

/** An hour whose missing figures are filled from a lower layer. */
function overlaid(upper: KeptWeatherHour, lower: Omit<Row, 'at'>): KeptWeatherHour {
  const filled = missingFigures(upper, lower);
  if (Object.keys(filled).length === 0) return upper;
  return {
    ...upper,
    ...filled,
    source: upper.source.includes(lower.source) ? upper.source : `${upper.source} + ${lower.source}`,
  };
}

/** First and last hour of a lawn, or null when it has none. */
export async function weatherSpan(lawnId: string): Promise<{ first: Date; last: Date } | null> {
  const [first, last] = await Promise.all(
    (['asc', 'desc'] as const).map((order) =>
      diary().weatherHour.findFirst({ where: { lawnId }, orderBy: { hourStart: order }, select: { hourStart: true } }),
    ),
  );
  return first && last ? { first: first.hourStart, last: last.hourStart } : null;
}

/** How many hours between two instants the diary has from any source. */
export async function countHoursBetween(lawnId: string, from: Date, to: Date): Promise<number> {
  const [row] = await diary().$queryRaw<{ hours: number | bigint }[]>`
    SELECT count(DISTINCT "hourStart") AS "hours" FROM "WeatherHour" WHERE "lawnId" = ${lawnId} AND "hourStart" >= ${instant(from)} AND "hourStart" < ${instant(to)}`;
  return Number(row?.hours ?? 0);
}

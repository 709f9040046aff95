import 'server-only';
import type { Prisma } from '@prisma/client';
import { diary } from './client';

export type WeatherHour = Omit<Prisma.WeatherHourGetPayload<object>, 'lawnId' | 'importId'>;
export type WeatherHourInput = Omit<Prisma.WeatherHourCreateManyInput, 'lawnId'>;

/** Writes hours that are not there yet, in chunks small enough for one statement. @returns how many were written */
export async function addWeatherHours(lawnId: string, hours: readonly WeatherHourInput[]): Promise<number> {
  const chunk = 2000;
  let written = 0;
  for (let at = 0; at < hours.length; at += chunk) {
    const rows = hours.slice(at, at + chunk).map((hour) => ({ lawnId, ...hour }));
    const known = await diary().weatherHour.findMany({
      where: { lawnId, hourStart: { in: rows.map((row) => row.hourStart as Date) } },
      select: { hourStart: true },
    });
    const taken = new Set(known.map((row) => row.hourStart.getTime()));
    const fresh = rows.filter((row) => !taken.has(new Date(row.hourStart).getTime()));
    if (fresh.length > 0) written += (await diary().weatherHour.createMany({ data: fresh })).count;
  }
  return written;
}

/** The hours of a lawn from one instant up to, not including, another. */
export async function weatherHoursBetween(lawnId: string, from: Date, to: Date): Promise<WeatherHour[]> {
  return diary().weatherHour.findMany({
    where: { lawnId, hourStart: { gte: from, lt: to } },
    orderBy: { hourStart: 'asc' },
    omit: { lawnId: true, importId: true },
  });
}

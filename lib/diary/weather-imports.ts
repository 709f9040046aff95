import 'server-only';
import type { Prisma } from '@prisma/client';
import { diary } from './client';

export type ImportState = 'writing' | 'done';

export type WeatherImport = Omit<Prisma.WeatherImportGetPayload<object>, 'state' | 'mapping'> & { state: ImportState };

export interface ImportFacts {
  fileName: string;
  hours: number;
  firstHour: Date | null;
  lastHour: Date | null;
  rowsRead: number;
  badRows: number;
  duplicateRows: number;
  mapping: Prisma.InputJsonValue;
}

const firstFileLayer = 2;

function narrow({ mapping: _mapping, state, ...row }: Prisma.WeatherImportGetPayload<object>): WeatherImport {
  return { ...row, state: state === 'writing' ? 'writing' : 'done' };
}

/** Opens an import in a layer above all before it; its hours follow, then `closeImport`. */
export async function openImport(lawnId: string, facts: ImportFacts): Promise<WeatherImport> {
  return diary().$transaction(async (inside) => {
    const top = await inside.weatherImport.findFirst({
      where: { lawnId },
      orderBy: { layer: 'desc' },
      select: { layer: true },
    });
    const layer = Math.max(firstFileLayer, (top?.layer ?? 0) + 1);
    return narrow(await inside.weatherImport.create({ data: { lawnId, layer, state: 'writing', ...facts } }));
  });
}

/** Marks an import as whole. */
export async function closeImport(id: string, hours: number): Promise<void> {
  await diary().weatherImport.update({ where: { id }, data: { state: 'done', hours } });
}

export async function listImports(lawnId: string): Promise<WeatherImport[]> {
  return (await diary().weatherImport.findMany({ where: { lawnId }, orderBy: { createdAt: 'desc' } })).map(narrow);
}

export async function findImport(id: string): Promise<WeatherImport | null> {
  const row = await diary().weatherImport.findUnique({ where: { id } });
  return row ? narrow(row) : null;
}

/** Removes an import and exactly the hours it brought. */
export async function removeImport(id: string): Promise<void> {
  await diary().weatherImport.delete({ where: { id } });
}

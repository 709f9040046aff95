import 'server-only';
import type { Prisma } from '@prisma/client';
import { diary } from './client';

/** One setting's value, or null when it was never set. */
export async function readSetting(name: string): Promise<unknown> {
  return (await diary().setting.findUnique({ where: { name } }))?.value ?? null;
}

export async function writeSetting(name: string, value: Prisma.InputJsonValue): Promise<void> {
  await diary().setting.upsert({ where: { name }, create: { name, value }, update: { value } });
}

export async function removeSettings(names: readonly string[]): Promise<void> {
  await diary().setting.deleteMany({ where: { name: { in: [...names] } } });
}

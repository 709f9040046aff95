import 'server-only';
import type { Prisma } from '@prisma/client';
import { diary } from './client';

export type Sprayer = Omit<Prisma.SprayerGetPayload<object>, 'createdAt' | 'deletedAt'>;
export type SprayerInput = Omit<Sprayer, 'id' | 'lawnId'>;

export async function listSprayers(lawnId: string): Promise<Sprayer[]> {
  return diary().sprayer.findMany({
    where: { lawnId, deletedAt: null },
    orderBy: { createdAt: 'asc' },
    omit: { createdAt: true, deletedAt: true },
  });
}

export async function createSprayer(lawnId: string, input: SprayerInput): Promise<Sprayer> {
  return diary().sprayer.create({ data: { lawnId, ...input }, omit: { createdAt: true, deletedAt: true } });
}

export async function updateSprayer(id: string, input: SprayerInput): Promise<Sprayer> {
  return diary().sprayer.update({ where: { id }, data: input, omit: { createdAt: true, deletedAt: true } });
}

/**
 * A carrier volume that counts from now on; an older catch test kept with the sprayer is taken out, since it said
 * another.
 */
export async function setCarrier(
  id: string,
  carrier: Pick<SprayerInput, 'carrierLPerHa' | 'carrierEnteredValue' | 'carrierEnteredUnit'>,
): Promise<void> {
  await diary().sprayer.update({ where: { id }, data: { ...carrier, catchTestMl: null, catchTestAreaM2: null } });
}

import 'server-only';
import { MEASUREMENT_KINDS, type MeasurementKind } from '@/lib/trial/measurement';
import { personNow } from '@/lib/visit';
import { diary } from './client';

export interface MeasurementInput {
  trialId: string;
  plotId: string;
  kind: MeasurementKind;
  name: string;
  /** Grams for clippings; else as read or counted. */
  value: number;
  enteredValue: number;
  enteredUnit: string;
  by: string;
  measuredAt: Date;
}

export type Measurement = MeasurementInput & { id: string };

export async function addMeasurements(rows: readonly MeasurementInput[]): Promise<void> {
  await diary().plotMeasurement.createMany({ data: rows.map((row) => ({ ...row, byPersonId: personNow() })) });
}

/** All measurements of a trial, oldest first. */
export async function measurementsOfTrial(trialId: string): Promise<Measurement[]> {
  const rows = await diary().plotMeasurement.findMany({
    where: { trialId },
    orderBy: [{ measuredAt: 'asc' }, { createdAt: 'asc' }, { id: 'asc' }],
    omit: { createdAt: true, byPersonId: true },
  });
  return rows.map((row) => ({ ...row, kind: MEASUREMENT_KINDS.find((kind) => kind === row.kind) ?? 'meter' }));
}

/** Takes one value back: it was a slip. */
export async function removeMeasurement(trialId: string, id: string): Promise<void> {
  await diary().plotMeasurement.deleteMany({ where: { id, trialId } });
}

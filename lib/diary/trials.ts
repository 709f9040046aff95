import 'server-only';
import { Prisma } from '@prisma/client';
import type { CauseTestPlan } from '@/lib/explain/cause-test';
import { LAYOUTS, type Layout } from '@/lib/trial/design';
import type { PlanPoint } from './plots';
import { diary } from './client';

/** The strip map as randomised: metres from the trial's near-left stake, x to the right, y away. */
export interface TrialLayout {
  /** Where the near-left stake stands on the lawn's plan. */
  originM: PlanPoint;
  swathM: number | null;
  passesPerStrip: number | null;
  bufferM: number | null;
  alleyM: number | null;
  blocksInOneRow: boolean;
  widthM: number;
  lengthM: number;
  diagonalM: number;
  /** Corners far-left, far-right, near-right, near-left. */
  strips: { plotId: string; label: string; cornersM: PlanPoint[] }[];
  stakes: { label: string; xM: number; yM: number }[];
}

const parts = {
  treatments: {
    orderBy: { displayOrder: 'asc' },
    include: { items: { include: { product: { omit: { createdAt: true, deletedAt: true } } } } },
  },
  plots: {
    orderBy: [{ block: 'asc' }, { position: 'asc' }],
    include: {
      plot: { select: { id: true, name: true, areaM2: true, isCheck: true, polygonM: true, createdAt: true } },
    },
  },
} satisfies Prisma.TrialInclude;

type Row = Prisma.TrialGetPayload<{ include: typeof parts }>;

export type Trial = Omit<Row, 'deletedAt' | 'design' | 'photoDays' | 'layout' | 'causeTest' | 'markThreadId'> & {
  design: Layout;
  photoDays: number[];
  layout: TrialLayout;
  /** What it tests, where it was laid out to find a mark's cause. */
  causeTest: CauseTestPlan | null;
  /** The patch of ground it was laid out for, by the name it had then. */
  patchId: string | null;
};
export type Treatment = Trial['treatments'][number];
export type TrialPlot = Trial['plots'][number];

function narrow(row: Row): Trial {
  const { deletedAt: _deletedAt, design, photoDays, layout, causeTest, markThreadId, ...rest } = row;
  const known = LAYOUTS.find((name) => name === design);
  if (!known) throw new RangeError(`design: expected one of ${LAYOUTS.join(', ')}, got '${design}'`);
  return {
    ...rest,
    design: known,
    photoDays: photoDays as number[],
    layout: layout as unknown as TrialLayout,
    causeTest: causeTest as unknown as CauseTestPlan | null,
    patchId: markThreadId,
  };
}

/** The trials of a lawn, the latest first. */
export async function listTrials(lawnId: string): Promise<Trial[]> {
  return (
    await diary().trial.findMany({ where: { lawnId, deletedAt: null }, orderBy: { startsOn: 'desc' }, include: parts })
  ).map(narrow);
}

export async function findTrial(id: string): Promise<Trial | null> {
  const row = await diary().trial.findFirst({ where: { id, deletedAt: null }, include: parts });
  return row ? narrow(row) : null;
}

export interface TrialTreatmentInput {
  name: string;
  isCheck: boolean;
  onSubplots: boolean;
  carrierLPerHa: number | null;
  carrierEnteredValue: number | null;
  carrierEnteredUnit: string | null;
  items: readonly { productId: string; rateEnteredValue: number; rateEnteredUnit: string }[];
}

export interface TrialStripInput {
  label: string;
  /** A plot of the lawn to use, or what a new one is made from. */
  plot: { id: string } | { name: string; isCheck: boolean; polygonM: readonly PlanPoint[]; areaM2: number };
  /** Corners from the trial's near-left stake. */
  cornersM: readonly PlanPoint[];
  treatment: string;
  subTreatment: string | null;
  block: number;
  position: number;
}

export interface TrialInput {
  name: string;
  question: string;
  design: Layout;
  blocks: number;
  seed: number;
  startsOn: string;
  photoDays: readonly number[];
  note: string;
  layout: Omit<TrialLayout, 'strips'>;
  treatments: readonly TrialTreatmentInput[];
  strips: readonly TrialStripInput[];
  /** Where it tests a mark's cause. */
  causeTest?: CauseTestPlan;
  patchId?: string;
}

/**
 * Writes a trial with its treatments, its plots (new ones are made) and its strip map, all or nothing.
 * @returns its id
 */
export async function createTrial(lawnId: string, input: TrialInput): Promise<string> {
  return diary().$transaction(async (tx) => {
    const { layout, treatments, strips, photoDays, causeTest, patchId, ...facts } = input;
    const trial = await tx.trial.create({
      data: {
        lawnId,
        ...facts,
        photoDays: [...photoDays],
        layout: {},
        ...(causeTest
          ? { causeTest: causeTest as unknown as Prisma.InputJsonValue, markThreadId: patchId ?? null }
          : {}),
      },
    });
    const treatmentIds = new Map<string, string>();
    for (const [displayOrder, { items, ...treatment }] of treatments.entries()) {
      const row = await tx.treatment.create({
        data: { trialId: trial.id, displayOrder, ...treatment, items: { create: items.map((item) => ({ ...item })) } },
      });
      treatmentIds.set(treatment.name, row.id);
    }
    const idOf = (name: string): string => {
      const id = treatmentIds.get(name);
      if (id === undefined) throw new RangeError(`treatment: expected one of the trial's, got '${name}'`);
      return id;
    };
    const mapped: TrialLayout['strips'] = [];
    for (const { label, plot, cornersM, treatment, subTreatment, block, position } of strips) {
      const plotId =
        'id' in plot
          ? plot.id
          : (await tx.plot.create({ data: { lawnId, ...plot, polygonM: plot.polygonM.map(([x, y]) => [x, y]) } })).id;
      await tx.trialPlot.create({
        data: {
          trialId: trial.id,
          plotId,
          treatmentId: idOf(treatment),
          subTreatmentId: subTreatment === null ? null : idOf(subTreatment),
          block,
          position,
        },
      });
      mapped.push({ plotId, label, cornersM: cornersM.map(([x, y]): PlanPoint => [x, y]) });
    }
    await tx.trial.update({
      where: { id: trial.id },
      data: { layout: { ...layout, strips: mapped } as unknown as Prisma.InputJsonValue },
    });
    return trial.id;
  });
}

/** Writes over what a trial is called and asks, and its planned days. */
export async function updateTrialFacts(
  id: string,
  {
    photoDays,
    ...facts
  }: { name: string; question: string; startsOn: string; photoDays: readonly number[]; note: string },
): Promise<void> {
  await diary().trial.update({ where: { id }, data: { ...facts, photoDays: [...photoDays] } });
}

/** Names of the lawn's plots that are taken, of those asked for. */
export async function plotNamesTaken(lawnId: string, names: readonly string[]): Promise<string[]> {
  return (await diary().plot.findMany({ where: { lawnId, name: { in: [...names] } }, select: { name: true } })).map(
    (row) => row.name,
  );
}

/** Moves a trial to the bin; its plots, photos and sprays stay. */
export async function binTrial(id: string, at: Date): Promise<void> {
  await diary().trial.update({ where: { id }, data: { deletedAt: at } });
}

/** Keeps a whole plot out of the analysis for a reason, or takes it back in with null. */
export async function excludePlot(trialId: string, plotId: string, reason: string | null): Promise<void> {
  await diary().trialPlot.update({ where: { trialId_plotId: { trialId, plotId } }, data: { excludedReason: reason } });
}

export interface Omission {
  id: string;
  photoId: string;
  plotId: string | null;
  reason: string;
}

export async function listOmissions(trialId: string): Promise<Omission[]> {
  return diary().trialOmission.findMany({
    where: { trialId },
    orderBy: { createdAt: 'asc' },
    select: { id: true, photoId: true, plotId: true, reason: true },
  });
}

/** Keeps one plot in one photo, or the whole photo, out of the analysis. */
export async function addOmission(trialId: string, omission: Omit<Omission, 'id'>): Promise<void> {
  await diary().trialOmission.create({ data: { trialId, ...omission } });
}

export async function removeOmission(trialId: string, id: string): Promise<void> {
  await diary().trialOmission.deleteMany({ where: { id, trialId } });
}

/** Everything measured on some plots, oldest first, with the photo's part in it. */
export async function readingsOfPlots(plotIds: readonly string[]) {
  return diary().reading.findMany({
    where: { plotId: { in: [...plotIds] }, photo: { deletedAt: null } },
    select: {
      plotId: true,
      photoId: true,
      takenAt: true,
      dgci: true,
      dgciLow95: true,
      dgciHigh95: true,
      pixels: true,
      turfPixels: true,
      turfShare: true,
      methodVersion: true,
      correction: true,
      photo: { select: { viewpointId: true, fileName: true } },
    },
    orderBy: { takenAt: 'asc' },
  });
}

export type PlotReadingRow = Awaited<ReturnType<typeof readingsOfPlots>>[number];

/**
 * The photos in which some plots are outlined, oldest first. By way of the plots' own outlines: of all a lawn's photos
 * they may be few.
 */
export async function photosShowing(plotIds: readonly string[]): Promise<string[]> {
  if (plotIds.length === 0) return [];
  const rows = await diary().$queryRaw<{ id: string }[]>`
    SELECT p."id" FROM "Photo" p WHERE p."id" IN (SELECT o."photoId" FROM "Outline" o WHERE o."plotId" IN (${Prisma.join([...plotIds])})) AND p."deletedAt" IS NULL
    ORDER BY p."takenAt" ASC, p."sha256" ASC`;
  return rows.map((row) => row.id);
}

/** When one plot was last measured before an instant; null when it never was. */
export async function lastMeasuredBefore(plotId: string, before: Date): Promise<Date | null> {
  const row = await diary().reading.findFirst({
    where: { plotId, takenAt: { lt: before }, photo: { deletedAt: null } },
    orderBy: { takenAt: 'desc' },
    select: { takenAt: true },
  });
  return row?.takenAt ?? null;
}

/** Whether a plot was measured before an instant in a photo of one viewpoint (null: in one of none). */
export async function wasMeasuredFrom(viewpointId: string | null, plotId: string, before: Date): Promise<boolean> {
  const row = await diary().reading.findFirst({
    where: { plotId, takenAt: { lt: before }, photo: { deletedAt: null, viewpointId } },
    orderBy: { takenAt: 'desc' },
    select: { id: true },
  });
  return row !== null;
}

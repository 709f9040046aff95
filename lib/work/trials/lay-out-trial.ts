import 'server-only';
import { findLawn } from '@/lib/diary/lawns';
import { listProducts } from '@/lib/diary/products';
import { createTrial, plotNamesTaken } from '@/lib/diary/trials';
import type { TrialEntry } from '@/lib/forms/trial-form';
import { hasTwoFactors, type TrialDesign } from '@/lib/trial/design';
import { drawTrial } from '@/lib/trial/draw-trial';
import type { MapSizes } from '@/lib/trial/plot-map';

export type LayOutResult = { ok: true; trialId: string } | { ok: false; field: string; message: string };

const BUFFER_SHARE_OF_SWATH = 0.25;

/** The design of an entry: names of treatments, the check among them. */
function designOf(
  entry: Pick<TrialEntry, 'design' | 'blocks' | 'treatments'> & { blockSize?: number | null },
): TrialDesign {
  const split = hasTwoFactors(entry.design);
  const main = entry.treatments.filter((one) => !(split && one.onSubplots)).map((one) => one.name);
  const sub = split ? entry.treatments.filter((one) => one.onSubplots).map((one) => one.name) : undefined;
  return {
    layout: entry.design,
    treatments: main,
    ...(sub ? { subTreatments: sub } : {}),
    check: entry.treatments.find((one) => one.isCheck)?.name ?? null,
    blocks: entry.design === 'latin-square' ? main.length : entry.blocks,
    ...(entry.design === 'incomplete-blocks' ? { blockSize: entry.blockSize ?? 0 } : {}),
  };
}

function sizesOf(entry: TrialEntry): Required<MapSizes> {
  return {
    swathM: entry.swathM,
    passesPerStrip: entry.passesPerStrip,
    stripLengthM: entry.stripLengthM,
    bufferM: entry.bufferM ?? BUFFER_SHARE_OF_SWATH * entry.swathM,
    alleyM: entry.alleyM ?? entry.swathM,
    blocksInOneRow: entry.blocksInOneRow,
  };
}

function firstProblem(entry: TrialEntry, productIds: ReadonlySet<string>): { field: string; message: string } | null {
  const names = entry.treatments.map((one) => one.name);
  const twice = names.findIndex((name, i) => names.indexOf(name) !== i);
  if (twice >= 0)
    return {
      field: `treatments.${twice}.name`,
      message: `Treatment name: expected each once, got '${names[twice]}' twice`,
    };
  const checks = entry.treatments.filter((one) => one.isCheck).length;
  if (checks > 1)
    return { field: 'treatments', message: `Check: expected one unsprayed treatment at most, got ${checks}` };
  for (const [index, treatment] of entry.treatments.entries()) {
    if (!treatment.isCheck && !treatment.onSubplots && treatment.items.length === 0 && !hasTwoFactors(entry.design)) {
      return {
        field: `treatments.${index}.name`,
        message: `${treatment.name}: expected at least one product with its rate, or the tick that it is the check, got neither`,
      };
    }
    const gone = treatment.items.findIndex((item) => !productIds.has(item.productId));
    if (gone >= 0)
      return {
        field: `treatments.${index}.items.${gone}.productId`,
        message: `${treatment.name}: expected a product from the shelf, got one that is not there any more`,
      };
  }
  return null;
}

/** Names for the plots: the numbers on the stakes, with the trial's number before them where those are taken. */
async function plotNames(lawnId: string, labels: readonly string[]): Promise<string[]> {
  for (let trial = 1; ; trial++) {
    const names = labels.map((label) => (trial === 1 ? label : `T${trial}-${label}`));
    if ((await plotNamesTaken(lawnId, names)).length === 0) return names;
  }
}

/** Draws a trial by its seed, marks out its plots on the lawn's plan and writes both into the diary. */
export async function layOutTrial(lawnId: string, entry: TrialEntry): Promise<LayOutResult> {
  const lawn = await findLawn(lawnId);
  if (!lawn)
    return {
      ok: false,
      field: 'name',
      message: 'Lawn: expected a lawn of this diary, got one that is not there any more',
    };
  const problem = firstProblem(entry, new Set((await listProducts()).map((product) => product.id)));
  if (problem) return { ok: false, ...problem };
  const design = designOf(entry);
  const sizes = sizesOf(entry);
  const drawn = drawTrial(design, entry.seed, sizes);
  if (!drawn.ok)
    return {
      ok: false,
      field: 'treatments',
      message: drawn.problems[0] ?? 'Design: expected one that can be laid out',
    };
  const { map } = drawn;
  const names = await plotNames(
    lawnId,
    map.plots.map((plot) => plot.label),
  );
  const [originX, originY] = entry.originM;
  const { swathM, passesPerStrip, bufferM, alleyM, blocksInOneRow } = sizes;
  const trialId = await createTrial(lawnId, {
    name: entry.name,
    question: entry.question,
    design: entry.design,
    blocks: design.blocks,
    seed: entry.seed,
    startsOn: entry.startsOn,
    photoDays: entry.photoDays,
    note: entry.note,
    layout: {
      originM: [originX, originY],
      swathM,
      passesPerStrip,
      bufferM,
      alleyM,
      blocksInOneRow,
      widthM: map.widthM,
      lengthM: map.lengthM,
      diagonalM: map.diagonalM,
      stakes: map.stakes.map((stake) => ({ ...stake })),
    },
    treatments: entry.treatments.map(({ items, ...treatment }) => ({
      ...treatment,
      onSubplots: hasTwoFactors(entry.design) && treatment.onSubplots,
      carrierLPerHa: entry.carrierLPerHa,
      carrierEnteredValue: entry.carrierEnteredValue,
      carrierEnteredUnit: entry.carrierEnteredUnit,
      items: items.map((item) => ({
        productId: item.productId,
        rateEnteredValue: item.rate.value,
        rateEnteredUnit: item.rate.unit,
      })),
    })),
    strips: map.plots.map((plot, index) => ({
      label: plot.label,
      plot: {
        name: names[index] ?? plot.label,
        isCheck: plot.treatment === design.check && (plot.subTreatment === null || plot.subTreatment === design.check),
        polygonM: plot.cornersM.map(([x, y]): [number, number] => [x + originX, y + originY]),
        areaM2: plot.areaM2,
      },
      cornersM: plot.cornersM.map(([x, y]): [number, number] => [x, y]),
      treatment: plot.treatment,
      subTreatment: plot.subTreatment,
      block: plot.block,
      position: plot.position,
    })),
  });
  return { ok: true, trialId };
}

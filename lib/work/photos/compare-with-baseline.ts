import 'server-only';
import { quadOf } from '@/lib/photo/raster/points';
import { USUAL_EDITION } from '@/lib/colour/chart-24';
import { replaceChanges, type ChangeInput } from '@/lib/diary/changes';
import { findLawn } from '@/lib/diary/lawns';
import type { KeptCaution } from '@/lib/diary/photos';
import { keepComparisonKey, type PhotoState, type StateOutline } from '@/lib/diary/worked-out';
import type { OutlinesFile } from '@/lib/forms/outlines-file';
import type { Pairing } from './baselines';
import { comparePhotos, lookAtPhoto } from './comparer';
import type { ComparedPair, ComparedPatch } from './compare-photos';
import { keepMarks } from './keep-marks';
import { fileOf } from './line-up-photo';

type PlotOutline = OutlinesFile['plots'][number];
type Board = OutlinesFile['greyCard'];

/**
 * Compares a photo's plots with their baselines and keeps what comes of it under the fingerprint of what it rests on:
 * changes against the check, marks, cautions.
 */
export async function comparePhoto(pairing: Pairing, key: string): Promise<void> {
  const { photo } = pairing;
  const lawn = await findLawn(photo.lawnId);
  const changes: ChangeInput[] = [];
  const patches: ComparedPatch[] = [];
  const cautions: KeptCaution[] = [];
  for (const { baseline, check, plots } of pairing.groups) {
    const answer = await comparePhotos({
      before: await fileOf(baseline),
      after: await fileOf(photo),
      outlines: {
        plots: plots.map(({ before, after }) => plotOutline(before, after, check)),
        ...boards(baseline, photo),
        chartEdition: lawn?.chartEdition ?? USUAL_EDITION,
      },
      trustGiven: pairing.trustGiven,
    });
    if ('failed' in answer) {
      cautions.push({
        code: 'not-compared',
        sentence: `This photo could not be compared with its baseline: ${answer.failed}.`,
      });
      continue;
    }
    const own = new Set(plots.filter((plot) => plot.own).map((plot) => plot.after.plotId));
    const { compared } = answer;
    if (check) changes.push(...changesOf(compared, baseline, check).filter((change) => own.has(change.plotId)));
    patches.push(...[...compared.patches, ...compared.possible].filter((patch) => own.has(patch.strip)));
    cautions.push(...pairCautions(compared));
  }
  if (pairing.alone.length > 0) {
    const answer = await lookAtPhoto({
      path: await fileOf(photo),
      plots: pairing.alone.map(({ plotId, corners, ground }) => ({
        id: plotId,
        corners,
        ...(ground?.length === 4 ? { groundMetres: ground } : {}),
      })),
    });
    if ('looked' in answer) {
      patches.push(...answer.looked.patches);
      if (answer.looked.notTurf.length > 0)
        cautions.push({ code: 'not-turf', sentence: answer.looked.notTurf.join(' ') });
    }
  }
  await replaceChanges(photo.id, changes);
  await keepMarks(photo, patches);
  await keepComparisonKey(photo.id, key, oneOfEachCode(cautions));
}

function plotOutline(before: StateOutline, after: StateOutline, check: StateOutline | null): PlotOutline {
  return {
    id: after.plotId,
    check: after.plotId === check?.plotId,
    corners: quadOf(before.corners),
    ...(after.ground?.length === 4 ? { groundMetres: quadOf(after.ground) } : {}),
    cornersAfter: quadOf(after.corners),
  };
}

/** The boards a person outlined; what nobody outlined is looked for. */
function boards(before: PhotoState, after: PhotoState): { greyCard?: Board; chart?: Board } {
  const corners = (value: unknown) =>
    Array.isArray(value) && value.length === 4 ? (value as NonNullable<Board>['before']) : undefined;
  const pair = (first: unknown, second: unknown): Board => {
    const [a, b] = [corners(first), corners(second)];
    return a || b ? { ...(a ? { before: a } : {}), ...(b ? { after: b } : {}) } : undefined;
  };
  const [greyCard, chart] = [pair(before.greyCard, after.greyCard), pair(before.chart, after.chart)];
  return { ...(greyCard ? { greyCard } : {}), ...(chart ? { chart } : {}) };
}

const boardWords: Readonly<Record<string, string>> = { 'chart-24': 'the 24-patch chart', 'grey-card': 'the grey card' };

/** One sentence that says by what the colours of the two photos were brought together. */
function correctionNote({ correction, correctionResidualDeltaE00 }: ComparedPair): KeptCaution {
  const board = boardWords[correction.after];
  const residual = correctionResidualDeltaE00.after;
  const left =
    residual === null
      ? ''
      : `; after it the chart's patches differ from their published values by ${residual.toFixed(1)} on average (CIEDE2000)`;
  if (board)
    return {
      code: 'colour-correction',
      sentence: `Colour brought to the baseline's by ${board}${left}.`,
      value: residual,
    };
  const by =
    correction.after === 'check-ratio'
      ? 'colour was brought to the baseline’s by the check alone, so only the change against it is meaningful'
      : 'colours are as photographed';
  return {
    code: 'board-missing',
    sentence: `No chart or grey card was used, since none was surely in both photos: ${by}.`,
    value: null,
  };
}

/** What the pair warns of. Light is judged on a board only where that board was used. */
function pairCautions(compared: ComparedPair): KeptCaution[] {
  if (compared.registration.status === 'taps' && !compared.registration.fromTaps)
    return compared.cautions.map((caution) => ({ ...caution }));
  const unsure = boardWords[compared.correction.after] === undefined;
  const rest = compared.cautions.filter(({ code }) => code !== 'board-missing' && !(unsure && code === 'warm-light'));
  return [correctionNote(compared), ...rest.map((caution) => ({ ...caution }))];
}

function changesOf(compared: ComparedPair, baseline: PhotoState, check: StateOutline): ChangeInput[] {
  return compared.strips
    .filter((strip) => strip.id !== check.plotId)
    .map((strip) => ({
      baselinePhotoId: baseline.id,
      plotId: strip.id,
      checkPlotId: check.plotId,
      methodVersion: compared.method.change,
      difference: strip.diffMinusCheck,
      low95: strip.ci95?.[0] ?? null,
      high95: strip.ci95?.[1] ?? null,
      differenceWithoutMarks: strip.diffWithoutPatches,
      low95WithoutMarks: strip.ci95WithoutPatches?.[0] ?? null,
      high95WithoutMarks: strip.ci95WithoutPatches?.[1] ?? null,
      refusedReason: strip.refused ?? null,
    }));
}

function oneOfEachCode(cautions: readonly KeptCaution[]): KeptCaution[] {
  return [
    ...new Map(
      cautions.map((caution) => [`${caution.code} ${caution.code === 'not-turf' ? caution.sentence : ''}`, caution]),
    ).values(),
  ];
}

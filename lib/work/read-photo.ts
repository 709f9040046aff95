import 'server-only';
import { photoPath } from '@/lib/darkroom/shelf';
import type { PhotoKind } from '@/lib/darkroom/sniff';
import { replaceChanges } from '@/lib/diary/changes';
import { findLawn } from '@/lib/diary/lawns';
import { marksOfPlot, replaceMarks, type Mark, type MarkInput } from '@/lib/diary/marks';
import { listOutlines, replaceOutlines, type Outline } from '@/lib/diary/outlines';
import { addCautions, baselineFor, findPhoto, lastOutlinedPhoto, type Caution, type Photo } from '@/lib/diary/photos';
import { listPlots, type PlanPoint } from '@/lib/diary/plots';
import { findViewpoint } from '@/lib/diary/viewpoints';
import { dataFolder } from '@/lib/forms/environment';
import type { OutlinesFile } from '@/lib/forms/outlines-file';
import { circumstanceCautions } from '@/lib/photo/cautions';
import type { Point } from '@/lib/photo/pixels';
import { isSamePlace, placeOnPlot } from '@/lib/photo/same-patch';
import { comparePhotos, findPlotsByCardsIn, findPlotsOf, lookAtPhoto } from './comparer';
import type { ComparedPair, ComparedPatch } from './compare-photos';
import type { KnownPhoto } from './find-plots';
import { measurePhoto } from './measure-photo';
import { momentOfGrass } from './moment-events';
import { groundPlanOf } from './peg-cards';

const fileOf = (photo: Photo) => photoPath(dataFolder(), photo.sha256, photo.kind as PhotoKind);

/** All that is read out of a photo once it is in: its plots found by lining up, measured, and compared with its baseline. */
export async function readPhoto(photoId: string): Promise<void> {
  const photo = await findPhoto(photoId);
  if (!photo) return;
  const outlines = await listOutlines(photoId);
  if (outlines.length === 0 && !(await placeByCards(photo)) && photo.viewpointId !== null) await lineUp(photo);
  await measurePhoto(photoId);
  await compareWithBaseline(photoId);
}

type PlotOutline = OutlinesFile['plots'][number];

function plotOutline(outline: Outline, ground: Map<string, PlanPoint[] | null>, cornersAfter?: readonly Point[]): PlotOutline {
  const metres = ground.get(outline.plotId);
  const four = outline.corners as unknown as PlotOutline['corners'];
  return {
    id: outline.plotId,
    check: outline.isCheck,
    corners: four,
    ...(metres?.length === 4 ? { groundMetres: metres as unknown as PlotOutline['corners'] } : {}),
    ...(cornersAfter ? { cornersAfter: cornersAfter as unknown as PlotOutline['corners'] } : {}),
  };
}

const groundOf = async (lawnId: string) => new Map((await listPlots(lawnId)).map((plot) => [plot.id, plot.polygonM]));

const fourCornered = (outline: Outline) => outline.accepted && outline.corners.length === 4;

async function knownPhoto(photo: Photo | null): Promise<KnownPhoto | null> {
  if (!photo) return null;
  const plots = (await listOutlines(photo.id)).filter(fourCornered).map((outline) => ({ id: outline.plotId, corners: outline.corners }));
  return plots.length > 0 ? { path: fileOf(photo), plots } : null;
}

/** Finds plots by plot cards lying in the photo: exact, and no earlier photo is needed. */
async function placeByCards(photo: Photo): Promise<boolean> {
  const plan = await groundPlanOf(photo.lawnId);
  const found = plan && (await findPlotsByCardsIn({ path: fileOf(photo), plan }));
  if (!found) return false;
  const outlines = Object.entries(found.corners).map(([plotId, corners]) => ({ plotId, corners, origin: 'cards' as const, confidence: found.confidence, accepted: true }));
  await replaceOutlines(photo.id, outlines);
  await addCautions(photo.id, [{ code: 'plot-cards', sentence: found.sentence }]);
  return true;
}

/** Finds the viewpoint's plots in this photo. Sure: they count at once. Unsure: the best guess waits for a person. */
async function lineUp(photo: Photo): Promise<void> {
  const viewpoint = photo.viewpointId ? await findViewpoint(photo.viewpointId) : null;
  const earlier = viewpoint ? await lastOutlinedPhoto(viewpoint.id, photo.takenAt, photo.id) : null;
  const last = await knownPhoto(earlier);
  if (!viewpoint || !earlier || !last) return;
  const isOther = viewpoint.referencePhotoId !== null && viewpoint.referencePhotoId !== earlier.id && viewpoint.referencePhotoId !== photo.id;
  const reference = isOther ? await knownPhoto(await findPhoto(viewpoint.referencePhotoId as string)) : null;
  const answer = await findPlotsOf({ after: fileOf(photo), last, ...(reference ? { reference } : {}) });
  const found = 'found' in answer ? answer.found : null;
  const scaleX = photo.widthPx / earlier.widthPx;
  const scaleY = photo.heightPx / earlier.heightPx;
  await replaceOutlines(
    photo.id,
    last.plots.map((plot) => ({
      plotId: plot.id,
      corners: found?.corners[plot.id] ?? plot.corners.map(([x, y]) => [(x + 0.5) * scaleX - 0.5, (y + 0.5) * scaleY - 0.5] as const),
      origin: found?.sure ? 'lined-up' : 'copied',
      confidence: found?.confidence ?? null,
      accepted: found?.sure ?? false,
    })),
  );
}

/** Compares a photo with its viewpoint's baseline: each plot's change against the check, and marks. */
export async function compareWithBaseline(photoId: string): Promise<void> {
  const photo = await findPhoto(photoId);
  if (!photo) return;
  const baseline = photo.viewpointId ? await baselineFor(photo) : null;
  await addCautions(photo.id, await cautionsOfMoment(photo, baseline));
  if (!baseline) return lookAlone(photo);
  const [before, after, ground] = await Promise.all([listOutlines(baseline.id), listOutlines(photo.id), groundOf(photo.lawnId)]);
  const plots = before.filter(fourCornered).flatMap((outline) => {
    const other = after.find((candidate) => candidate.plotId === outline.plotId && fourCornered(candidate));
    return other ? [plotOutline(outline, ground, other.corners)] : [];
  });
  if (plots.length === 0) return;
  const lawn = await findLawn(photo.lawnId);
  const trustGiven = after.filter(fourCornered).every((outline) => outline.origin === 'lined-up' || outline.origin === 'cards' || outline.origin === 'surveyed');
  const answer = await comparePhotos({ before: fileOf(baseline), after: fileOf(photo), outlines: { plots, ...boards(baseline, photo), chartEdition: lawn?.chartEdition ?? '2014' }, trustGiven });
  if ('failed' in answer) {
    await addCautions(photoId, [{ code: 'not-compared', sentence: `This photo could not be compared with its baseline: ${answer.failed}.` }]);
    return;
  }
  await keepComparison(photo, baseline, after, answer.compared);
}

type Board = OutlinesFile['greyCard'];

/** The boards a person outlined; what nobody outlined is looked for. */
function boards(before: Photo, after: Photo): { greyCard?: Board; chart?: Board } {
  const corners = (value: unknown) => (Array.isArray(value) && value.length === 4 ? (value as NonNullable<Board>['before']) : undefined);
  const pair = (first: unknown, second: unknown): Board => {
    const [a, b] = [corners(first), corners(second)];
    return a || b ? { ...(a ? { before: a } : {}), ...(b ? { after: b } : {}) } : undefined;
  };
  const [greyCard, chart] = [pair(before.greyCard, after.greyCard), pair(before.chart, after.chart)];
  return { ...(greyCard ? { greyCard } : {}), ...(chart ? { chart } : {}) };
}

/** Cautions from what the diary knows of the moment: sun, rain shortly before, mowing, another camera than the baseline's. */
async function cautionsOfMoment(photo: Photo, baseline: Photo | null): Promise<Caution[]> {
  const outlines = await listOutlines(photo.id);
  const grass = await momentOfGrass(photo.lawnId, outlines.map((outline) => outline.plotId), photo.takenAt, baseline?.takenAt ?? null);
  const circumstances = (of: Photo, hoursSinceWater: number | null, mown: boolean) => ({
    sunElevationDeg: of.sunElevationDeg,
    sunAzimuthDeg: of.sunAzimuthDeg,
    camera: [of.cameraMake, of.cameraModel].filter(Boolean).join(' ') || null,
    hoursSinceWater,
    mownSinceBaseline: mown || of.mownSinceBaseline,
  });
  return circumstanceCautions(circumstances(photo, grass.hoursSinceWater, grass.mownSince !== null), baseline ? circumstances(baseline, null, false) : null).map((caution) => ({ ...caution }));
}

const correctionWords: Record<string, string> = {
  'chart-24': 'the 24-patch chart',
  'grey-card': 'the grey card',
  'check-ratio': 'the check strip alone',
};

function correctionNote(compared: ComparedPair): Caution[] {
  const words = correctionWords[compared.correction.after];
  const residual = compared.correctionResidualDeltaE00.after;
  if (!words) return [];
  const left = residual === null ? '' : `; after it the chart's patches differ from their published values by ${residual.toFixed(1)} on average (CIEDE2000)`;
  return [{ code: 'colour-correction', sentence: `Colour brought to the baseline's by ${words}${left}.`, value: residual }];
}

/** Without an earlier photo: what stands out from its own plot, which may be old, and what in an outline isn't turf. */
async function lookAlone(photo: Photo): Promise<void> {
  const [outlines, ground] = await Promise.all([listOutlines(photo.id), groundOf(photo.lawnId)]);
  const plots = outlines.filter(fourCornered).map((outline) => {
    const metres = ground.get(outline.plotId);
    return { id: outline.plotId, corners: outline.corners, ...(metres?.length === 4 ? { groundMetres: metres } : {}) };
  });
  if (plots.length === 0) return;
  const answer = await lookAtPhoto({ path: fileOf(photo), plots });
  if ('failed' in answer) return;
  await keepMarks(photo, outlines, answer.looked.patches);
  if (answer.looked.notTurf.length > 0) await addCautions(photo.id, [{ code: 'not-turf', sentence: answer.looked.notTurf.join(' ') }]);
}

async function keepComparison(photo: Photo, baseline: Photo, outlines: Outline[], compared: ComparedPair): Promise<void> {
  const check = outlines.find((outline) => outline.isCheck);
  if (check) {
    await replaceChanges(
      photo.id,
      compared.strips
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
        })),
    );
  }
  await keepMarks(photo, outlines, [...compared.patches, ...compared.possible]);
  await addCautions(photo.id, [...correctionNote(compared), ...compared.cautions.map((caution) => ({ ...caution }))]);
}

/** Keeps what was found, each patch under the thread of the same patch in an earlier photo, with what a person said of it there. */
async function keepMarks(photo: Photo, outlines: Outline[], patches: readonly ComparedPatch[]): Promise<void> {
  const rows: MarkInput[] = [];
  const earlierOn = new Map<string, Mark[]>();
  const outlinesIn = new Map<string, Outline[]>([[photo.id, outlines]]);
  for (const patch of patches) {
    const corners = outlines.find((outline) => outline.plotId === patch.strip)?.corners;
    const place = corners ? placeOnPlot(patch.polygon, corners) : null;
    if (!earlierOn.has(patch.strip)) {
      earlierOn.set(patch.strip, (await marksOfPlot(patch.strip)).filter((mark) => mark.takenAt < photo.takenAt && mark.photoId !== photo.id));
    }
    const earlier = earlierOn.get(patch.strip) ?? [];
    let same: Mark | undefined;
    for (const mark of earlier) {
      if (same || !place) break;
      if (!outlinesIn.has(mark.photoId)) outlinesIn.set(mark.photoId, await listOutlines(mark.photoId));
      const there = outlinesIn.get(mark.photoId)?.find((outline) => outline.plotId === patch.strip)?.corners;
      const then = there ? placeOnPlot(mark.polygon, there) : null;
      if (then && isSamePlace(place, then)) same = mark;
    }
    rows.push({
      plotId: patch.strip,
      threadId: same?.threadId ?? `${photo.id}-${rows.length}`,
      kind: patch.kind,
      kindByPerson: same && same.kind !== same.foundKind ? same.kind : null,
      state: same?.state ?? 'open',
      isNew: patch.new,
      score: patch.score,
      polygon: patch.polygon.map(([x, y]) => [x, y]),
      areaShare: patch.areaShareStrip,
      areaM2: patch.areaM2,
      severityDeltaE00: patch.deltaE00,
    });
  }
  await replaceMarks(photo.id, rows);
}

import 'server-only';
import { readFile } from 'node:fs/promises';
import { cutKey, cutPath, type CutRequest, type PlotToCut } from '@/lib/darkroom/plot-cuts';
import { cutPlots } from '@/lib/darkroom/scorer';
import { discardPrints } from '@/lib/darkroom/prints';
import type { PhotoKind } from '@/lib/darkroom/sniff';
import type { MarkKind } from '@/lib/photo/marks/kind';
import { photoStates, type PhotoState, type StateOutline } from '@/lib/diary/worked-out';
import { dataFolder } from '@/lib/forms/environment';
import { cutFrame, onCut } from '@/lib/photo/plot-cut';
import type { Changes, Figure, PlotChange } from './changes';
import type { Mark } from './marks';

/** A plot cut out of a photo: where its picture is served, and its size, so that nothing moves when it comes. */
export interface Cut {
  readonly src: string;
  readonly width: number;
  readonly height: number;
  readonly turned: boolean;
}

/** One plot of one photo beside the check, and both before the spray. Plain data: pages hand it to the browser. */
export interface PlotView {
  readonly plotId: string;
  readonly plotName: string;
  readonly now: Cut;
  readonly check: Cut | null;
  readonly checkName: string | null;
  readonly before: Cut | null;
  readonly checkBefore: Cut | null;
  readonly beforeMs: number | null;
  /** Marks on it; points 0-1 on the cut-out. */
  readonly marks: readonly {
    readonly id: string;
    readonly kind: MarkKind;
    readonly points: readonly (readonly [number, number])[];
  }[];
  /** The change against the check since before the spray; null where there is none to give. */
  readonly change: Figure | null;
  readonly marksLeftOut: number;
  readonly refused: string | null;
  /** Why there is no change to give, where nothing refused one. */
  readonly silent: 'before-spray' | 'waiting' | 'nothing-before' | null;
}

const isCuttable = (outline: StateOutline): boolean =>
  outline.accepted && !outline.plotBinned && outline.corners.length === 4;

function toCut({ corners, ground }: StateOutline): PlotToCut {
  const side = (axis: 0 | 1) =>
    Math.max(...ground!.map((corner) => corner[axis])) - Math.min(...ground!.map((corner) => corner[axis]));
  return { corners, frame: cutFrame(ground?.length === 4 ? { widthM: side(0), lengthM: side(1) } : null) };
}

function cutOf(photo: PhotoState, outline: StateOutline | undefined): Cut | null {
  if (!outline || !isCuttable(outline)) return null;
  const plot = toCut(outline);
  const { width, height, turned } = plot.frame;
  return { src: `/api/photos/${photo.id}/cut?plot=${outline.plotId}&as=${cutKey(plot)}`, width, height, turned };
}

const named = new Intl.Collator('en', { numeric: true });

/**
 * The plots of a photo side by side with the check, in the order of their names, as far as their outlines hold today.
 */
export function viewsOf(
  photoId: string,
  { stands, changes }: Pick<Changes, 'stands' | 'changes'>,
  marks: readonly Mark[],
): PlotView[] {
  const stand = stands.get(photoId);
  if (!stand || !stand.holds.outlines) return [];
  const { state, pairing } = stand;
  const own = new Map(
    changes
      .filter((change) => change.photoId === photoId)
      .map((change): [string, PlotChange] => [change.plotId, change]),
  );
  return state.outlines
    .filter((outline) => isCuttable(outline) && !outline.isCheck)
    .toSorted((a, b) => named.compare(a.plotName, b.plotName))
    .flatMap((outline): PlotView[] => {
      const now = cutOf(state, outline);
      if (!now) return [];
      const change = own.get(outline.plotId);
      const checkId =
        pairing.beside.get(outline.plotId)?.check?.plotId ??
        state.outlines.find((other) => other.isCheck && isCuttable(other))?.plotId;
      const check = state.outlines.find((other) => other.plotId === checkId);
      const baseline =
        change && !change.isBaseline
          ? pairing.groups.find((group) => group.baseline.id === change.baselinePhotoId)?.baseline
          : undefined;
      const inBaseline = (plotId: string | undefined) => baseline?.outlines.find((other) => other.plotId === plotId);
      const speaks = change !== undefined && change.sinceSpray && !change.isBaseline;
      return [
        {
          plotId: outline.plotId,
          plotName: outline.plotName,
          now,
          check: cutOf(state, check),
          checkName: check?.plotName ?? null,
          before: baseline ? cutOf(baseline, inBaseline(outline.plotId)) : null,
          checkBefore: baseline ? cutOf(baseline, inBaseline(checkId)) : null,
          beforeMs: baseline ? baseline.takenAt.getTime() : null,
          marks: marks
            .filter((mark) => mark.photoId === photoId && mark.plotId === outline.plotId && mark.state !== 'dismissed')
            .flatMap((mark) => {
              const points = onCut(mark.polygon, outline.corners, now.turned);
              return points
                ? [
                    {
                      id: mark.id,
                      kind: mark.kind,
                      points: points.map(([x, y]) => [Number(x.toFixed(3)), Number(y.toFixed(3))] as const),
                    },
                  ]
                : [];
            }),
          change: speaks ? change.headline : null,
          marksLeftOut: speaks ? change.marksLeftOut : 0,
          refused: speaks ? change.refused : null,
          silent: speaks
            ? null
            : change !== undefined
              ? 'before-spray'
              : stand.holds.comparison
                ? 'nothing-before'
                : 'waiting',
        },
      ];
    });
}

const making = new Map<string, Promise<void>>();

/** All plots of a photo are cut at once: whoever asks for one asks for the others next. */
function makeOnce(request: CutRequest): Promise<void> {
  const key = `${request.photo.sha256} ${request.plots.map(cutKey).join()}`;
  const running = making.get(key);
  if (running) return running;
  const work = cutPlots(request).finally(() => making.delete(key));
  making.set(key, work);
  return work;
}

/** A plot's cut-out as JPEG bytes and what it is called; null when the photo has no outline of it that counts. */
export async function cutBytes(photoId: string, plotId: string): Promise<{ bytes: Uint8Array; key: string } | null> {
  const [photo] = await photoStates([photoId]);
  const outline = photo?.outlines.find((one) => one.plotId === plotId && isCuttable(one));
  if (!photo || !outline) return null;
  const printed = { sha256: photo.sha256, kind: photo.kind as PhotoKind };
  const plot = toCut(outline);
  const file = cutPath(dataFolder(), printed, plot);
  const read = () => readFile(file).catch(() => null);
  let bytes = await read();
  if (bytes === null) {
    const made = makeOnce({
      dataFolder: dataFolder(),
      photo: printed,
      photoWidthPx: photo.widthPx,
      plots: photo.outlines.filter(isCuttable).map(toCut),
    });
    const failed = await made.then(
      () => null,
      (error: unknown) => ({ error }),
    );
    // A photo that was taken out meanwhile keeps nothing behind.
    if ((await photoStates([photoId])).length === 0) {
      await discardPrints(dataFolder(), photo.sha256);
      return null;
    }
    if (failed) throw failed.error;
    bytes = await read();
  }
  return bytes === null ? null : { bytes, key: cutKey(plot) };
}

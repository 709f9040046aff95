import 'server-only';
import { readFile } from 'node:fs/promises';
import { parseArgs } from 'node:util';
import { readExif, type PhotoExif } from '../darkroom/exif';
import { scoreHere, type ScoredPhoto } from '../darkroom/score';
import { scorePhoto, stopScorers } from '../darkroom/scorer';
import { parseOutlinesFile, plotsToMeasure } from '../forms/outlines-file';
import { isSimple, LEAST_IN_PICTURE } from '../photo/raster/region';
import type { PlotReading, PlotToMeasure } from '../photo/measure/measure';

/**
 * npm run -s measure -- PHOTO… [--outlines FILE] [--json|--csv]: readings of plots in photos, without server or
 * database. --json prints one object for one photo and a list for several; a photo that failed is { photo, error }
 * there, a sentence on the error stream always, and the exit code is 1.
 */
const USAGE = 'Usage: npm run -s measure -- PHOTO… [--outlines FILE] [--json|--csv]';

interface MeasuredPlot {
  readonly id: string;
  /** Share of the outline that lies in the photo; below 0.95 the plot is not measured. */
  readonly inPicture: number;
  readonly pixels: number;
  readonly turfShare: number;
  readonly hue: number | null;
  readonly saturation: number | null;
  readonly brightness: number | null;
  readonly dgci: number | null;
  readonly extrapolated: boolean;
  readonly dgciPixelMean: number | null;
  readonly dgciPixelSd: number | null;
  readonly ci95: readonly [low: number, high: number] | null;
  readonly lab: { readonly L: number; readonly a: number; readonly b: number } | null;
  readonly ngrdi: number | null;
  readonly gli: number | null;
  readonly exg: number | null;
  readonly vari: number | null;
}

interface FailedPhoto {
  readonly photo: string;
  readonly error: string;
}

interface MeasuredPhoto {
  readonly photo: string;
  /** Clock time of the camera, with its offset where the file tells it; null without EXIF time. */
  readonly takenAt: string | null;
  readonly size: { readonly width: number; readonly height: number };
  readonly correction: 'none';
  readonly cautions: readonly string[];
  readonly plots: readonly MeasuredPlot[];
  readonly method: { readonly version: string; readonly parameters: object } | null;
}

function measuredPlot({ id, inPicture, pixels, turfShare, greenness, ci95 }: PlotReading): MeasuredPlot {
  return {
    id,
    inPicture,
    pixels,
    turfShare,
    hue: greenness?.hue ?? null,
    saturation: greenness?.saturation ?? null,
    brightness: greenness?.brightness ?? null,
    dgci: greenness?.dgci ?? null,
    extrapolated: greenness?.extrapolated ?? false,
    dgciPixelMean: greenness?.dgciPixelMean ?? null,
    dgciPixelSd: greenness?.dgciPixelSd ?? null,
    ci95: ci95 === null ? null : [ci95.low, ci95.high],
    lab: greenness === null ? null : { L: greenness.lab.L, a: greenness.lab.a, b: greenness.lab.b },
    ngrdi: greenness?.ngrdi ?? null,
    gli: greenness?.gli ?? null,
    exg: greenness?.exg ?? null,
    vari: greenness?.vari ?? null,
  };
}

function measuredPhoto(photo: string, scored: ScoredPhoto, exif: PhotoExif): MeasuredPhoto {
  const [first] = scored.readings;
  const cautions = scored.cautions.map(({ sentence }) => sentence);
  if (scored.colourSource === 'from-cmyk') {
    cautions.push(
      'The file holds printing inks (CMYK): its colours came back only roughly. Use the photo as the camera wrote it.',
    );
  }
  if (scored.colourSource === 'unknown-as-srgb') {
    cautions.push(
      'The file names a colour space that isn’t known here: its colours were taken as sRGB and may be off.',
    );
  }
  return {
    photo,
    takenAt: takenAtText(exif),
    size: { width: scored.width, height: scored.height },
    correction: 'none',
    cautions,
    plots: scored.readings.map(measuredPlot),
    method: first === undefined ? null : { version: first.methodVersion, parameters: first.parameters },
  };
}

/** ISO 8601 clock time, with the offset when the camera wrote one. */
function takenAtText({ wallTime, offsetMinutes }: PhotoExif): string | null {
  if (wallTime === null || offsetMinutes === null) return wallTime;
  const minutes = Math.abs(offsetMinutes);
  return `${wallTime}${offsetMinutes < 0 ? '-' : '+'}${twoDigits(Math.floor(minutes / 60))}:${twoDigits(minutes % 60)}`;
}

function twoDigits(n: number): string {
  return String(n).padStart(2, '0');
}

const CSV_COLUMNS = [
  'photo',
  'takenAt',
  'width',
  'height',
  'correction',
  'plot',
  'pixels',
  'turfShare',
  'hueDeg',
  'saturation',
  'brightness',
  'dgci',
  'extrapolated',
  'dgciPixelMean',
  'dgciPixelSd',
  'ci95Low',
  'ci95High',
  'labL',
  'labA',
  'labB',
  'ngrdi',
  'gli',
  'exg',
  'vari',
  'cautions',
];

function csvRows({ photo, takenAt, size, correction, cautions, plots }: MeasuredPhoto): string[] {
  return plots.map((p) =>
    [
      photo,
      takenAt,
      size.width,
      size.height,
      correction,
      p.id,
      p.pixels,
      p.turfShare,
      p.hue,
      p.saturation,
      p.brightness,
      p.dgci,
      p.extrapolated,
      p.dgciPixelMean,
      p.dgciPixelSd,
      p.ci95?.[0],
      p.ci95?.[1],
      p.lab?.L,
      p.lab?.a,
      p.lab?.b,
      p.ngrdi,
      p.gli,
      p.exg,
      p.vari,
      cautions.join(' '),
    ]
      .map(csvField)
      .join(','),
  );
}

/** RFC 4180; a text that a spreadsheet would take for a formula gets a leading apostrophe. */
function csvField(value: unknown): string {
  if (value === null || value === undefined) return '';
  if (typeof value !== 'string') return String(value);
  const text = /^[=+\-@\t\r]/.test(value) ? `'${value}` : value;
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

function asTable({ photo, takenAt, size, cautions, plots }: MeasuredPhoto): string {
  const lines = plots.map((p) => {
    const interval = p.ci95 === null ? 'no interval' : `95% ${p.ci95[0].toFixed(4)}–${p.ci95[1].toFixed(4)}`;
    return `  ${p.id}: DGCI ${p.dgci === null ? '–' : p.dgci.toFixed(4)}${p.extrapolated ? ' (extrapolated)' : ''}, ${interval}, turf ${(100 * p.turfShare).toFixed(1)}% of ${p.pixels} pixels${p.inPicture < LEAST_IN_PICTURE ? `, not measured: only ${Math.floor(100 * p.inPicture)}% of the outline lies in the photo` : ''}`;
  });
  return [
    `${photo} (${size.width} × ${size.height}, ${takenAt ?? 'time unknown'})`,
    ...lines,
    ...cautions.map((c) => `  Caution: ${c}`),
  ].join('\n');
}

/** @returns the exit code: 0 when all went well, 1 when some photo failed, 2 when it was called wrongly */
async function main(args: readonly string[]): Promise<number> {
  let asked;
  try {
    asked = parseArgs({
      args: [...args],
      allowPositionals: true,
      options: { outlines: { type: 'string' }, json: { type: 'boolean' }, csv: { type: 'boolean' } },
    });
  } catch (error) {
    console.error(`${(error as Error).message}\n${USAGE}`);
    return 2;
  }
  const { positionals: photos, values } = asked;
  if (photos.length === 0) {
    console.error(`Expected at least one photo, got none.\n${USAGE}`);
    return 2;
  }
  if (values.json === true && values.csv === true) {
    console.error(`Expected --json or --csv, got both.\n${USAGE}`);
    return 2;
  }
  const plots = values.outlines === undefined ? [] : await readOutlines(values.outlines);
  if (plots === null) return 2;

  const score = photos.length === 1 ? scoreHere : scorePhoto;
  const results = await Promise.all(
    photos.map(async (photo): Promise<MeasuredPhoto | FailedPhoto> => {
      try {
        const scored = await score({ path: photo, plots });
        return measuredPhoto(photo, scored, await readExif(photo));
      } catch (error) {
        return { photo, error: (error as Error).message };
      }
    }),
  );
  await stopScorers();

  const measured = results.filter((result): result is MeasuredPhoto => !('error' in result));
  if (values.csv === true)
    process.stdout.write(`${[CSV_COLUMNS.join(','), ...measured.flatMap(csvRows)].join('\r\n')}\r\n`);
  else if (values.json === true)
    process.stdout.write(`${JSON.stringify(results.length === 1 ? results[0] : results, null, 2)}\n`);
  else for (const photo of measured) process.stdout.write(`${asTable(photo)}\n`);
  for (const result of results) if ('error' in result) console.error(`${result.photo}: ${result.error}`);
  return measured.length === results.length ? 0 : 1;
}

async function readOutlines(file: string): Promise<PlotToMeasure[] | null> {
  let text: string;
  try {
    text = await readFile(file, 'utf8');
  } catch (error) {
    console.error(`Expected an outlines file at '${file}', found none that can be read (${(error as Error).message}).`);
    return null;
  }
  const result = parseOutlinesFile(text);
  if (!result.ok) {
    console.error(result.sentence);
    return null;
  }
  const crossed = result.outlines.plots.find((plot) => !isSimple(plot.corners));
  if (crossed !== undefined) {
    console.error(
      `Outlines file, plot '${crossed.id}': expected four corners in order round the plot, got an outline that crosses itself or has no area.`,
    );
    return null;
  }
  return plotsToMeasure(result.outlines);
}

// The HEIC decoder logs its troubles: that must not get between the lines of the answer.
console.log = console.error;
process.exitCode = await main(process.argv.slice(2));

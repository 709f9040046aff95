import { z } from 'zod';
import { MARK_KINDS } from '@/lib/photo/marks/kind';
import { LAYOUTS } from '@/lib/trial/design';
import { LAWN_EVENT_KINDS } from '@/lib/trial/lawn-event';
import { MEASUREMENT_KINDS } from '@/lib/trial/measurement';
import { isTimeZone } from '@/lib/weather/local-time';

/**
 * What the diary's own columns hold beyond their declared type: sets of words, and the shapes of JSON. A database that
 * comes from elsewhere (an archive) is held to them, since the pages take them for granted.
 */
const words = (...values: string[]) => z.enum(values as [string, ...string[]]);
const finite = z.number();
const point = z.tuple([finite, finite]);
const polygon = z.array(point).max(1000);
const cautions = z.array(z.object({ code: z.string(), sentence: z.string(), value: finite.nullish() }));
const board = z.array(point).refine((corners) => corners.length === 0 || corners.length === 4);
const object = z.record(z.string(), z.unknown());

export const DIARY_WORDS: Readonly<Record<string, z.ZodType>> = {
  'Lawn.unitSystem': words('us-customary', 'metric'),
  'Lawn.timeZone': z.string().refine(isTimeZone),
  'Product.form': words('liquid', 'dry'),
  'Product.labelWatering': words('water-in', 'keep-dry'),
  'Spray.state': words('planned', 'done'),
  'Spray.weatherSource': words('typed', 'hours', 'plan'),
  'Plot.groundPlace': words('plan', 'inside', 'apart'),
  'LawnEvent.kind': words(...LAWN_EVENT_KINDS),
  'Photo.kind': words('jpeg', 'png', 'webp', 'tiff', 'avif', 'heic'),
  'Photo.takenAtBasis': words('exif-offset', 'lawn-time-zone', 'gps-utc', 'phone-clock', 'typed', 'upload'),
  'Photo.measureState': words('waiting', 'measured', 'failed'),
  'Outline.origin': words('drawn', 'copied', 'lined-up', 'surveyed', 'cards'),
  'Mark.kind': words(...MARK_KINDS),
  'Trial.design': words(...LAYOUTS),
  'PlotMeasurement.kind': words(...MEASUREMENT_KINDS),
  'LawnRight.right': words('looks', 'works', 'keeps'),
  'WeatherImport.state': words('writing', 'done'),
};

/** Columns whose every value is looked at by its shape; JSON that isn't listed need only be JSON. */
export const DIARY_SHAPES: Readonly<Record<string, z.ZodType>> = {
  'Plot.polygonM': polygon,
  'Product.composition': z.array(z.object({ species: z.string(), massShare: finite })),
  'Spray.plan': object,
  'Photo.greyCard': board,
  'Photo.chart': board,
  'Photo.cautions': cautions,
  'Photo.comparisonCautions': cautions,
  'Outline.corners': polygon.min(3),
  'Reading.parameters': object,
  'Reading.blocks': z.object({ across: finite, along: finite, sums: z.array(finite.nullable()) }),
  'Mark.polygon': polygon,
  'Trial.photoDays': z.array(z.number().int()),
  'Trial.layout': object,
  'Photo.sha256': z.string().regex(/^[0-9a-f]{64}$/),
  'ShareLink.tokenHash': z.string().regex(/^[0-9a-f]{64}$/),
};

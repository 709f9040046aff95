import { CHART_EDITIONS } from '@/lib/colour/chart-24';
import { z } from 'zod';
import type { PlotToMeasure } from '../photo/measure/measure';

const point = z.tuple([z.number(), z.number()], { error: 'expected [x, y], two numbers' }).readonly();
const corners = z.array(point).length(4, { error: 'expected four corners [x, y]' }).readonly();

/** An object with these names and no others: a misspelt one would be left out without a word. */
const only = <T extends z.ZodRawShape>(shape: T) =>
  z.strictObject(shape, {
    error: (issue) =>
      issue.code === 'unrecognized_keys'
        ? `expected nothing but ${Object.keys(shape).join(', ')}, got '${issue.keys[0]}'`
        : undefined,
  });

const patch = only({ before: corners.optional(), after: corners.optional() });

/**
 * An outlines file: plots by their corners in the upright full-size photo, in pixels, in the order far-left, far-right,
 * near-right, near-left; for a pair also their corners in the later photo (given taps); their corners on the ground in
 * metres where known; and where a grey card or a colour chart lies.
 */
const outlinesFile = only({
  plots: z
    .array(
      only({
        id: z.string().min(1, { error: 'expected a name of at least one letter' }),
        check: z.boolean().optional(),
        corners,
        cornersAfter: corners.optional(),
        groundMetres: corners.optional(),
      }),
    )
    .min(1, { error: 'expected at least one plot' }),
  greyCard: patch.optional(),
  chart: patch.optional(),
  /** The edition of the chart's published values: before or from November 2014. */
  chartEdition: z.enum(CHART_EDITIONS, { error: "expected '2005' or '2014'" }).optional(),
});

export type OutlinesFile = z.infer<typeof outlinesFile>;

/** Either the outlines or one sentence that says what was expected and what came, and where. */
export type OutlinesResult =
  | { readonly ok: true; readonly outlines: OutlinesFile }
  | { readonly ok: false; readonly sentence: string };

/** Reads the text of an outlines file. */
export function parseOutlinesFile(text: string): OutlinesResult {
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch (error) {
    return {
      ok: false,
      sentence: `Expected an outlines file in JSON, got text that isn't: ${(error as Error).message}.`,
    };
  }
  const parsed = outlinesFile.safeParse(json);
  if (!parsed.success) {
    const [issue] = parsed.error.issues;
    const where = issue === undefined || issue.path.length === 0 ? 'the outlines file' : issue.path.join('.');
    return { ok: false, sentence: `Outlines file, ${where}: ${issue?.message ?? 'not as expected'}.` };
  }
  const ids = parsed.data.plots.map((plot) => plot.id);
  const twice = ids.find((id, i) => ids.indexOf(id) !== i);
  if (twice !== undefined)
    return { ok: false, sentence: `Outlines file, plots: expected each plot once, got '${twice}' twice.` };
  return { ok: true, outlines: parsed.data };
}

/** The plots as the kernel takes them. */
export function plotsToMeasure(outlines: OutlinesFile): PlotToMeasure[] {
  return outlines.plots.map(({ id, corners, groundMetres }) => ({
    id,
    polygon: corners,
    ...(groundMetres === undefined ? {} : { groundMetres }),
  }));
}

import { linearRgbToXyz } from '@/lib/colour/linear-rgb';
import { channelOf, type GroundRaster } from './ground/rectify';
import { smoothKept } from './marks/smooth';
import { medianAt } from './measure/median';
import { sampled, withoutPlane } from './light/robust-plane';

/** Something that makes a photo or a comparison doubtful, in words for beside the number. */
export interface Caution {
  readonly code:
    | 'shadow-edge'
    | 'mowing-stripes'
    | 'unlike-sun'
    | 'unlike-camera'
    | 'warm-light'
    | 'low-sun'
    | 'board-missing'
    | 'board-refused'
    | 'wet-leaf'
    | 'mown-since'
    | 'not-turf'
    | 'leaves-photo'
    | 'not-lined-up';
  readonly sentence: string;
  /** The number the caution rests on; null where there is none. */
  readonly value: number | null;
}

/** Limits beyond which a caution is given. Common practice and our own trials, no published source. */
export const CAUTION_LIMITS = {
  /** Strength of mowing stripes: amplitude of ln G across them. */
  stripeAmplitude: 0.08,
  /** Share of the light's variation across the plot that the stripes explain. */
  stripeShare: 0.38,
  /** How well the plots must agree on the direction, 0..1 (length of the mean of doubled angles). */
  stripeAgreement: 0.9,
  sunElevationDeg: 15,
  sunAzimuthDeg: 40,
  sunElevationDifferenceDeg: 20,
  /**
   * On the card as the camera balanced it: daylight gave 6300 to 6500 K in our trials, evening sun of 3500 to 3800 K
   * 5100 to 5300.
   */
  warmK: 5600,
  wetHours: 3,
  /** Change of the photo's scale or turn against the baseline. */
  cameraScale: 1.25,
  cameraTurnDeg: 12,
} as const;

/** What the record knows about a photo, all optional: where it is null nothing is said. */
export interface PhotoCircumstances {
  readonly sunElevationDeg: number | null;
  readonly sunAzimuthDeg: number | null;
  readonly camera: string | null;
  readonly hoursSinceWater: number | null;
  readonly mownSinceBaseline: boolean | null;
}

/** With the sun lower than this it is dusk: a daylight photo was not taken then. */
const UNDER_HORIZON_DEG = -2;

/** Cautions from what the record knows of a photo and of its baseline. */
export function circumstanceCautions(now: PhotoCircumstances, baseline: PhotoCircumstances | null): Caution[] {
  const cautions: Caution[] = [];
  const { sunElevationDeg: up, hoursSinceWater: wet } = now;
  if (up !== null && up < UNDER_HORIZON_DEG) {
    cautions.push({
      code: 'low-sun',
      value: up,
      sentence: `By its time the sun stood ${Math.abs(up).toFixed(0)}° under the horizon. If the photo is bright, its clock is wrong, or the lawn’s place or time zone: put the time right below.`,
    });
  } else if (up !== null && up < CAUTION_LIMITS.sunElevationDeg) {
    cautions.push({
      code: 'low-sun',
      value: up,
      sentence: `Low sun (${up.toFixed(0)}° above the horizon): blades shade each other and the light is warm, so the index is less sure.`,
    });
  }
  if (wet !== null && wet < CAUTION_LIMITS.wetHours) {
    cautions.push({
      code: 'wet-leaf',
      value: wet,
      sentence: `Rain or irrigation ${wet.toFixed(1)} h before the photo: wet leaves look darker and shine.`,
    });
  }
  if (now.mownSinceBaseline === true) {
    cautions.push({
      code: 'mown-since',
      value: null,
      sentence:
        'Mown since the baseline photo: cut tips and new stripes change the look of the turf. Where the check was mown with the plots, most of that cancels.',
    });
  }
  if (baseline === null) return cautions;
  const sun = sunDifference(now, baseline);
  if (
    sun !== null &&
    (sun.azimuth > CAUTION_LIMITS.sunAzimuthDeg || sun.elevation > CAUTION_LIMITS.sunElevationDifferenceDeg)
  ) {
    cautions.push({
      code: 'unlike-sun',
      value: Math.max(sun.azimuth, sun.elevation),
      sentence: `The sun stood elsewhere than for the baseline (${sun.azimuth.toFixed(0)}° round, ${sun.elevation.toFixed(0)}° in height): the index shifts with it, the change against the check hardly.`,
    });
  }
  if (now.camera !== null && baseline.camera !== null && now.camera !== baseline.camera) {
    cautions.push({
      code: 'unlike-camera',
      value: null,
      sentence: `Another camera than the baseline’s (${now.camera} instead of ${baseline.camera}): compare only the change against the check.`,
    });
  }
  return cautions;
}

function sunDifference(
  now: PhotoCircumstances,
  baseline: PhotoCircumstances,
): { azimuth: number; elevation: number } | null {
  if (
    now.sunAzimuthDeg === null ||
    now.sunElevationDeg === null ||
    baseline.sunAzimuthDeg === null ||
    baseline.sunElevationDeg === null
  )
    return null;
  const round = Math.abs(now.sunAzimuthDeg - baseline.sunAzimuthDeg) % 360;
  return { azimuth: Math.min(round, 360 - round), elevation: Math.abs(now.sunElevationDeg - baseline.sunElevationDeg) };
}

/**
 * The later photo taken from elsewhere: its scale and turn against the earlier one, from the two outlines of one plot.
 */
export function viewCaution(
  before: readonly (readonly [number, number])[],
  after: readonly (readonly [number, number])[],
): Caution | null {
  const [a, b] = [before, after].map((q) => {
    const dx = q[1]![0] - q[0]![0] + q[2]![0] - q[3]![0];
    const dy = q[1]![1] - q[0]![1] + q[2]![1] - q[3]![1];
    return { length: Math.hypot(dx, dy), angle: (Math.atan2(dy, dx) * 180) / Math.PI };
  });
  const scale = b!.length / a!.length;
  const turn = Math.abs(((b!.angle - a!.angle + 540) % 360) - 180);
  if (Math.max(scale, 1 / scale) <= CAUTION_LIMITS.cameraScale && turn <= CAUTION_LIMITS.cameraTurnDeg) return null;
  return {
    code: 'unlike-camera',
    value: scale,
    sentence: `Taken from elsewhere than the baseline (${scale.toFixed(2)} times the size, turned ${turn.toFixed(0)}°): stand where the baseline was taken.`,
  };
}

/**
 * Correlated colour temperature in kelvin of the light on a neutral card, 2500 to about 10,000 K; linear sRGB of the
 * card in the camera's own balance, so it tells what the camera left uncorrected.
 * Exported for its published figure: D65 is 6504 K.
 * @see McCamy 1992, Color Res Appl 17:142-144 (cubic in n)
 */
export function cardTemperatureK([r, g, b]: readonly [number, number, number]): number {
  const { X, Y, Z } = linearRgbToXyz(r, g, b);
  const [x, y] = [X / (X + Y + Z), Y / (X + Y + Z)];
  const n = (x - 0.332) / (0.1858 - y);
  return 449 * n ** 3 + 3525 * n ** 2 + 6823.3 * n + 5520.33;
}

/** Warm light left on the card. */
export function warmLightCaution(card: readonly [number, number, number]): Caution | null {
  const kelvin = cardTemperatureK(card);
  if (!(kelvin < CAUTION_LIMITS.warmK)) return null;
  return {
    code: 'warm-light',
    value: kelvin,
    sentence: `Evening light (about ${(Math.round(kelvin / 100) * 100).toFixed(0)} K on the card): colours are less sure, and the interval is wider.`,
  };
}

/** Part of the plots in a hard shadow. */
export function shadowCaution(sharesInShade: readonly number[]): Caution | null {
  const shaded = sharesInShade.filter((share) => share > 0.01);
  if (shaded.length === 0) return null;
  const value = sharesInShade.reduce((a, b) => a + b, 0) / sharesInShade.length;
  return {
    code: 'shadow-edge',
    value,
    sentence: `A shadow’s edge crosses the plots (${(100 * value).toFixed(0)}% of their ground in shade): only the sunlit parts that plot and check share are compared.`,
  };
}

/** Neither chart nor card. */
export function boardMissingCaution(method: string): Caution | null {
  if (method === 'chart-24' || method === 'grey-card') return null;
  return {
    code: 'board-missing',
    value: null,
    sentence: 'No chart or grey card was used: only the difference to the check is meaningful.',
  };
}

/** Mowing stripes: which way they run, and how strong they are. */
export interface Stripes {
  /** Direction of the stripes on the raster, degrees from its width towards its height, 0 <= d < 180. */
  readonly directionDeg: number;
  /** Amplitude of ln G across the stripes. */
  readonly amplitude: number;
  /** Share of the slow variation of ln G that they explain, 0..1. */
  readonly share: number;
}

/**
 * Looks for mowing stripes: ln G, smoothed and level, averaged along each of 36 directions; the direction whose
 * averages vary most is taken, and how much of all variation they explain says whether stripes are there at all.
 * Exported so that direction and share are held to drawn stripes.
 */
export function findStripes(plot: GroundRaster): Stripes {
  const { width, height, linear, seen } = plot;
  const side = Math.sqrt(width * height);
  const green = channelOf(linear, 1);
  const [smooth] = smoothKept([green], seen, width, height, 0.02 * side);
  const light = withoutPlane(
    smooth!.map((g) => Math.log(Math.max(g, 1e-4))),
    seen,
    new Uint8Array(seen.length),
    1,
    width,
    height,
  );
  const cells = sampled(seen, 8000);
  const centre = medianAt(light, cells);
  let total = 0;
  for (const i of cells) total += (light[i]! - centre) ** 2;
  let best: Stripes = { directionDeg: 0, amplitude: 0, share: 0 };
  const step = 0.03 * side;
  const xs = Float64Array.from(cells, (i) => i % width);
  const ys = Float64Array.from(cells, (i) => Math.floor(i / width));
  const values = Float64Array.from(cells, (i) => light[i]! - centre);
  const middle = Math.ceil(Math.hypot(width, height) / step) + 1;
  const sums = new Float64Array(2 * middle + 1);
  const counts = new Int32Array(2 * middle + 1);
  for (let directionDeg = 0; directionDeg < 180; directionDeg += 5) {
    const turn = (directionDeg * Math.PI) / 180;
    const [nx, ny] = [-Math.sin(turn), Math.cos(turn)];
    sums.fill(0);
    counts.fill(0);
    for (let k = 0; k < cells.length; k++) {
      const bin = middle + Math.round((nx * xs[k]! + ny * ys[k]!) / step);
      sums[bin]! += values[k]!;
      counts[bin]!++;
    }
    let explained = 0;
    for (let bin = 0; bin < sums.length; bin++) if (counts[bin]! >= 8) explained += sums[bin]! ** 2 / counts[bin]!;
    const share = explained / Math.max(total, 1e-12);
    if (share > best.share) best = { directionDeg, amplitude: Math.sqrt((2 * explained) / cells.length), share };
  }
  return best;
}

/**
 * Stripes strong enough to matter: in one plot by their share alone, in several when most of them run the same way on
 * the ground, since a lawn's own unevenness has no common direction.
 */
export function stripeCaution(plots: readonly GroundRaster[]): Caution | null {
  const strong = plots
    .map(findStripes)
    .filter((s) => s.share >= CAUTION_LIMITS.stripeShare && s.amplitude >= CAUTION_LIMITS.stripeAmplitude);
  if (strong.length === 0 || strong.length < 0.75 * plots.length) return null;
  let [x, y] = [0, 0];
  for (const { directionDeg } of strong) {
    x += Math.cos((directionDeg * Math.PI) / 90);
    y += Math.sin((directionDeg * Math.PI) / 90);
  }
  if (Math.hypot(x, y) / strong.length < CAUTION_LIMITS.stripeAgreement) return null;
  const towards = Math.round((((Math.atan2(y, x) * 90) / Math.PI + 180) % 180) / 5) * 5;
  const amplitude = strong.reduce((sum, s) => sum + s.amplitude, 0) / strong.length;
  return {
    code: 'mowing-stripes',
    value: amplitude,
    sentence: `Mowing stripes (running ${towards}° to the plots’ width, light and dark by ±${(100 * amplitude).toFixed(0)}%): they are a play of light, not of colour, but make single readings differ.`,
  };
}

/** Words that stand beside a reading without making it doubtful. */
const NOTES_ONLY: ReadonlySet<string> = new Set([
  'board-missing',
  'colour-correction',
  'not-turf',
  'outlines-overlap',
  'plot-cards',
  'mown-since',
]);

/** Whether a caution makes the photo's readings doubtful (a hollow point on charts). */
export function isDoubt(code: string): boolean {
  return !NOTES_ONLY.has(code);
}

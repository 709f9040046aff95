import { smoothNoise } from './noise';
import type { DemoPhoto } from './scenario';
import type { DemoStrip } from './demo-facts';
import { turfColour, type LinearRgb } from './turf-colour';

/**
 * The colour of the turf over the ground, in cells of `CELL_M`: what each strip is that day, with the sward's own
 * unevenness.
 */
export interface TurfField {
  /** The turf's mean colour at a place; places outside give the nearest cell. Writes into `out`. */
  at(xM: number, yM: number, out: [number, number, number]): void;
}

const CELL_M = 0.04;
const LEFT_M = -8;
const NEAR_M = -1.6;
const COLUMNS = Math.round(21 / CELL_M);
const ROWS = Math.round(11.6 / CELL_M);
const SWARD_SEED = 9;
const MOWING_WIDTH_M = 0.53;

/**
 * @param strips where the strips lie; outside them the turf is unsprayed
 */
export function turfField(photo: DemoPhoto, strips: readonly DemoStrip[]): TurfField {
  const cells = new Float32Array(COLUMNS * ROWS * 3);
  const lawn = turfColour(photo.lawnGainDgci);
  const colours = new Map<string, LinearRgb>(strips.map(({ id }) => [id, turfColour(photo.gainDgci[id])]));
  const boxes = strips.map(({ id, polygonM }) => {
    const xs = polygonM.map(([x]) => x);
    const ys = polygonM.map(([, y]) => y);
    return {
      colour: colours.get(id) as LinearRgb,
      left: Math.min(...xs),
      right: Math.max(...xs),
      near: Math.min(...ys),
      far: Math.max(...ys),
    };
  });
  const stripes = 0.055 * Math.exp(-photo.mownDaysAgo / 5);
  for (let row = 0; row < ROWS; row++) {
    const y = NEAR_M + (row + 0.5) * CELL_M;
    for (let column = 0; column < COLUMNS; column++) {
      const x = LEFT_M + (column + 0.5) * CELL_M;
      const box = boxes.find(({ left, right, near, far }) => x > left && x < right && y > near && y < far);
      let [r, g, b] = box ? box.colour : lawn;
      // the sward itself, most of it the same from photo to photo
      const broad = smoothNoise(x / 0.5, y / 0.6, SWARD_SEED) + 0.35 * smoothNoise(x / 0.5, y / 0.6, photo.seed);
      const fine =
        smoothNoise(x / 0.14, y / 0.16, SWARD_SEED + 1) + 0.5 * smoothNoise(x / 0.12, y / 0.14, photo.seed + 1);
      const dry = Math.max(0, smoothNoise(x / 0.9, y / 0.8, SWARD_SEED + 2) - 0.25);
      const band = Math.sin(
        (2 * Math.PI * (y + 0.04 * smoothNoise(x / 1.5, y, SWARD_SEED + 3))) / (2 * MOWING_WIDTH_M),
      );
      const tone = 1 + 0.07 * broad + 0.06 * fine + stripes * Math.tanh(3 * band);
      r *= tone * (1 + 0.22 * dry + 0.03 * fine);
      g *= tone * (1 + 0.07 * dry);
      b *= tone * (1 + 0.05 * dry - 0.04 * fine);
      [r, g, b] = hazed(photo, x, y, r, g, b);
      const i = 3 * (row * COLUMNS + column);
      cells[i] = r;
      cells[i + 1] = g;
      cells[i + 2] = b;
    }
  }
  return {
    at(xM, yM, out) {
      const column = Math.min(COLUMNS - 1, Math.max(0, Math.floor((xM - LEFT_M) / CELL_M)));
      const row = Math.min(ROWS - 1, Math.max(0, Math.floor((yM - NEAR_M) / CELL_M)));
      const i = 3 * (row * COLUMNS + column);
      out[0] = cells[i] as number;
      out[1] = cells[i + 1] as number;
      out[2] = cells[i + 2] as number;
    },
  };
}

/**
 * A silvery haze is paler and greyer than the turf under it, thins out softly towards its rim, and ends with the strip.
 */
function hazed(photo: DemoPhoto, x: number, y: number, r: number, g: number, b: number): LinearRgb {
  const haze = photo.haze;
  if (!haze) return [r, g, b];
  const reach = Math.hypot((x - haze.centreM[0]) / haze.halfWidthM, (y - haze.centreM[1]) / haze.halfLengthM);
  const ragged =
    reach +
    0.18 * smoothNoise(x / 0.24, y / 0.5, SWARD_SEED + 4) +
    0.06 * smoothNoise(x / 0.09, y / 0.1, SWARD_SEED + 5);
  const mottle = 0.8 + 0.2 * smoothNoise(x / 0.16, y / 0.45, SWARD_SEED + 6);
  const inside = Math.min(1, Math.max(0, (1.25 - ragged) / 0.75));
  const cover = haze.strength * 0.52 * mottle * inside * inside * (3 - 2 * inside);
  const grey = 1.75 * (0.2126 * r + 0.7152 * g + 0.0722 * b);
  return [r + cover * (grey - r), g + cover * (grey - g), b + cover * (1.02 * grey - b)];
}

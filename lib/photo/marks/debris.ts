import { closed, components, grow } from '../raster/components';
import { medianInPlace } from '../measure/median';
import { smoothKept } from './smooth';
import { channelOf, type GroundRaster } from '../ground/rectify';

/**
 * What lies on the turf and is not turf: fallen leaves, scuffed soil. Lengths are shares of the plot's side (root of
 * its area). The colour limits are differences from the plot's own turf in ln(R/G) and ln G, so the light doesn't
 * matter; they come from our own trials on rendered and real photos, no published source.
 */
const DEBRIS = {
  /** Smoothing that takes single blades away and keeps a leaf. */
  smoothing: 0.005,
  /** Much redder than turf, whatever its brightness: a dry leaf. */
  leafRedder: 1.0,
  /** Redder and darker than turf: bare, scuffed soil. Blackened turf is hardly redder. */
  soilRedder: 0.45,
  soilDarker: 0.25,
  /** Larger things are looked at as marks. */
  maxShare: 0.013,
  /** The surroundings must be turf: redder by no more than this share of the thing's own redness. */
  surroundingsShare: 0.45,
  ring: 0.016,
  /** Cells around a thing that its colour may have touched. */
  margin: 0.008,
} as const;

/** 1 where something small that isn't turf lies in the zone (cells where `zone` is 1), margin included. */
export function findDebris(plot: GroundRaster, zone: Uint8Array): Uint8Array {
  const { width, height, linear } = plot;
  const n = width * height;
  const side = Math.sqrt(n);
  const found = new Uint8Array(n);
  const [red, green] = smoothKept(
    [channelOf(linear, 0), channelOf(linear, 1)],
    zone,
    width,
    height,
    DEBRIS.smoothing * side,
  );
  const redder = new Float32Array(n);
  const light = new Float32Array(n);
  for (let i = 0; i < n; i++) {
    if (!zone[i]) continue;
    redder[i] = Math.log(Math.max(red![i]!, 1e-4) / Math.max(green![i]!, 1e-4));
    light[i] = Math.log(Math.max(green![i]!, 1e-4));
  }
  const turf = { redder: middleOf(redder, zone), light: middleOf(light, zone) };
  const suspect = new Uint8Array(n);
  for (let i = 0; i < n; i++) {
    if (!zone[i]) continue;
    const up = redder[i]! - turf.redder;
    if (up > DEBRIS.leafRedder || (up > DEBRIS.soilRedder && light[i]! - turf.light < -DEBRIS.soilDarker))
      suspect[i] = 1;
  }
  const reach = Math.max(2, Math.round(DEBRIS.ring * side));
  for (const thing of components(
    closed(suspect, width, height, Math.max(1, Math.round(0.006 * side))),
    width,
    height,
  )) {
    const hits = thing.filter((i) => suspect[i]);
    if (thing.length > DEBRIS.maxShare * n || hits.length < 4) continue;
    const box = boxAround(thing, width, height, reach + 2);
    const own = new Uint8Array(box.width * box.height);
    for (const i of thing) own[(Math.floor(i / width) - box.top) * box.width + (i % width) - box.left] = 1;
    const inner = grow(own, box.width, box.height, Math.ceil(reach / 2));
    const outer = grow(own, box.width, box.height, reach + 1);
    const around: number[] = [];
    for (let k = 0; k < outer.length; k++) {
      const i = (Math.floor(k / box.width) + box.top) * width + (k % box.width) + box.left;
      if (outer[k] && !inner[k] && zone[i]) around.push(redder[i]! - turf.redder);
    }
    const ownRedness = medianInPlace(Float64Array.from(hits, (i) => redder[i]! - turf.redder));
    if (around.length > 0 && medianInPlace(Float64Array.from(around)) > DEBRIS.surroundingsShare * ownRedness) continue;
    for (const i of thing) found[i] = 1;
  }
  return grow(found, width, height, Math.max(1, Math.round(DEBRIS.margin * side)));
}

function boxAround(cells: Int32Array, width: number, height: number, margin: number) {
  let [left, right, top, bottom] = [width, 0, height, 0];
  for (const i of cells) {
    const x = i % width;
    const y = Math.floor(i / width);
    left = Math.min(left, x);
    right = Math.max(right, x);
    top = Math.min(top, y);
    bottom = Math.max(bottom, y);
  }
  left = Math.max(0, left - margin);
  top = Math.max(0, top - margin);
  right = Math.min(width - 1, right + margin);
  bottom = Math.min(height - 1, bottom + margin);
  return { left, top, width: right - left + 1, height: bottom - top + 1 };
}

function middleOf(values: Float32Array, where: Uint8Array): number {
  const picked: number[] = [];
  for (let i = 0; i < values.length; i += 3) if (where[i] && Number.isFinite(values[i]!)) picked.push(values[i]!);
  return medianInPlace(Float64Array.from(picked));
}

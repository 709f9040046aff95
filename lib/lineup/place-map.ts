import 'server-only';
import { WORDS, type Features } from './features';

/**
 * What a viewpoint has learned: lasting points round its lawn, in the frame of its reference photo. A point is where
 * the reference photo shows it and how near it is; how near comes from the moves of all photos that saw it. Nothing is
 * ever measured from photo to photo, so nothing can drift; what stays away is forgotten.
 */
export interface PlaceMap {
  readonly version: typeof PLACE_MAP_VERSION;
  /** Size of the reference photo, pixels, and its focal length as a share of its long side. */
  readonly width: number;
  readonly height: number;
  readonly focal: number;
  /** Photos it was learned from, the reference included. */
  readonly photos: number;
  readonly points: readonly LastingPoint[];
  /**
   * The ground: on it nearness is a x + b y + c, x and y in shares of the long side about the reference photo's middle.
   * Null until a photo taken from another stand was lined up. Nearness is one over depth, in units that make the
   * vector's length 1.
   */
  readonly ground: Ground | null;
  /** Points of the last photos whose pose is known that the map doesn't have: seen once more they join it. */
  readonly newcomers: readonly Newcomer[];
}

/** The plane and what is known of it: its information, 3 x 3, adds up from photo to photo. */
export interface Ground {
  readonly plane: readonly [number, number, number];
  readonly information: readonly (readonly [number, number, number])[];
}

/** A photo as the map sees it: how the camera turned from the reference photo, and went, in the map's own unit. */
export interface MapPose {
  readonly rotation: readonly number[];
  /** The move, in units of the map's nearness; zero length: on the reference's own stand. */
  readonly move: readonly [number, number, number];
  readonly focal: number;
  readonly width: number;
  readonly height: number;
}

/** A point of one photo, with that photo's pose. */
export interface Newcomer {
  readonly x: number;
  readonly y: number;
  readonly size: number;
  readonly words: Int32Array;
  readonly pose: MapPose;
}

/** Raise when what is kept can't be read, or means something else: old maps are then learned anew. */
export const PLACE_MAP_VERSION = 'place-map-1';

export interface LastingPoint {
  /** Pixels of the reference photo. */
  readonly x: number;
  readonly y: number;
  readonly size: number;
  /** Nearness and its information (one over variance), from the moves so far; information 0: unknown. */
  readonly nearness: number;
  readonly information: number;
  readonly seen: number;
  /** Looks in a row that it was not seen though it lay in the picture. */
  readonly missed: number;
  readonly looked: number;
  /** How it looked, the newest first: WORDS words each. */
  readonly looks: readonly Int32Array[];
}

/** A map of one photo: everything in it may last. */
export function startPlaceMap(features: Features, focal: number): PlaceMap {
  const points = Array.from({ length: features.count }, (_, i): LastingPoint => ({
    x: features.x[i]!,
    y: features.y[i]!,
    size: features.size[i]!,
    nearness: 0,
    information: 0,
    seen: 1,
    missed: 0,
    looked: 1,
    looks: [wordsOf(features, i)],
  }));
  return {
    version: PLACE_MAP_VERSION,
    width: features.width,
    height: features.height,
    focal,
    photos: 1,
    points,
    ground: null,
    newcomers: [],
  };
}

export const wordsOf = (features: Features, i: number): Int32Array => features.words.slice(i * WORDS, (i + 1) * WORDS);

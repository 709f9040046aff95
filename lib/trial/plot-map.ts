import { expectInRange, expectPositive } from '@/lib/expect';
import type { PlacedPlot } from '@/lib/trial/randomise';

/** Sizes on the ground. */
export interface MapSizes {
  /** Width of one sprayer pass on the ground (m). */
  readonly swathM: number;
  /** Passes side by side in one strip, 1 or more. */
  readonly passesPerStrip: number;
  /** Length of a strip (m). */
  readonly stripLengthM: number;
  /** Unsprayed gap between neighbouring strips (m); by default a quarter of the swath for drift and overlap. */
  readonly bufferM?: number;
  /** Gap between blocks (m), to turn and to walk; by default one swath. */
  readonly alleyM?: number;
  /** True puts blocks side by side along x instead of one behind the other. */
  readonly blocksInOneRow?: boolean;
}

/** One strip on the map: metres from the near-left stake, x to the right, y away. */
export interface MappedPlot extends PlacedPlot {
  /** Number on the stake: block then place, 101, 102 … 201. */
  readonly label: string;
  readonly xM: number;
  readonly yM: number;
  readonly widthM: number;
  readonly lengthM: number;
  /** Far-left, far-right, near-right, near-left. */
  readonly cornersM: readonly (readonly [number, number])[];
  readonly areaM2: number;
}

/** A point to mark. */
export interface Stake {
  readonly label: string;
  readonly xM: number;
  readonly yM: number;
}

/** The map: overall size, strips, stakes and the length of the two diagonals to check that the corner is square. */
export interface TrialMap {
  readonly widthM: number;
  readonly lengthM: number;
  readonly plots: readonly MappedPlot[];
  readonly stakes: readonly Stake[];
  readonly diagonalM: number;
}

/** Share of the swath left unsprayed between strips unless told otherwise. Common practice, no source. */
const BUFFER_SHARE_OF_SWATH = 0.25;

const tidy = (value: number): number => Math.round(value * 1e6) / 1e6;

/**
 * Lays the strips on the ground with their buffers. Stakes stand at the four corners of the trial and of every strip.
 */
export function layOutMap(placed: readonly PlacedPlot[], sizes: MapSizes): TrialMap {
  expectInRange('swathM', sizes.swathM, 0.1, 30, 'm');
  expectInRange('passesPerStrip', sizes.passesPerStrip, 1, 20, 'passes');
  expectPositive('stripLengthM', sizes.stripLengthM, 'm');
  if (placed.length === 0) throw new RangeError('plots: expected at least 1, got 0');
  const buffer = expectInRange('bufferM', sizes.bufferM ?? BUFFER_SHARE_OF_SWATH * sizes.swathM, 0, 30, 'm');
  const alley = expectInRange('alleyM', sizes.alleyM ?? sizes.swathM, 0, 100, 'm');
  const width = sizes.swathM * sizes.passesPerStrip;
  const length = sizes.stripLengthM;
  // A strip plot's blocks are grids; all others are one row of strips.
  const placeOf = (plot: PlacedPlot): { across: number; along: number } =>
    plot.cell ?? { across: plot.position, along: 0 };
  const perBlock = Math.max(...placed.map((plot) => placeOf(plot).across)) + 1;
  const deep = Math.max(...placed.map((plot) => placeOf(plot).along)) + 1;
  const blockLength = deep * length + (deep - 1) * buffer;
  const blocks = Math.max(...placed.map((plot) => plot.block)) + 1;
  const blockWidth = perBlock * width + (perBlock - 1) * buffer;
  const plots = placed.map((plot): MappedPlot => {
    const place = placeOf(plot);
    const across = place.across * (width + buffer);
    const xM = tidy(sizes.blocksInOneRow ? plot.block * (blockWidth + alley) + across : across);
    const yM = tidy((sizes.blocksInOneRow ? 0 : plot.block * (blockLength + alley)) + place.along * (length + buffer));
    const [right, far] = [tidy(xM + width), tidy(yM + length)];
    return {
      ...plot,
      label: `${plot.block + 1}${String(plot.position + 1).padStart(2, '0')}`,
      xM,
      yM,
      widthM: width,
      lengthM: length,
      cornersM: [
        [xM, far],
        [right, far],
        [right, yM],
        [xM, yM],
      ],
      areaM2: tidy(width * length),
    };
  });
  const widthM = tidy(sizes.blocksInOneRow ? blocks * blockWidth + (blocks - 1) * alley : blockWidth);
  const lengthM = tidy(sizes.blocksInOneRow ? blockLength : blocks * blockLength + (blocks - 1) * alley);
  const corners: Stake[] = [
    { label: 'near left', xM: 0, yM: 0 },
    { label: 'near right', xM: widthM, yM: 0 },
    { label: 'far right', xM: widthM, yM: lengthM },
    { label: 'far left', xM: 0, yM: lengthM },
  ];
  const names = ['far left', 'far right', 'near right', 'near left'];
  const stripStakes = plots.flatMap((plot) =>
    plot.cornersM.map(([xM, yM], i) => ({ label: `${plot.label} ${names[i]!}`, xM, yM })),
  );
  return { widthM, lengthM, plots, stakes: [...corners, ...stripStakes], diagonalM: Math.hypot(widthM, lengthM) };
}

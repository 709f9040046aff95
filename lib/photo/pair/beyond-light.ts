import type { Block, PlotPair } from '../change';
import { grow, shrink } from '../raster/components';

/** The colours that marks have against the turf beside them are taken from at least so many cells of each. */
const MIN_CELLS = 12;

/**
 * The pair with what the light that plot and check share leaves out of a plot with marks: turf in the shade counts as
 * that in the light, and a mark there by how its colour stands to the turf beside it in the same shade. Without it a mark
 * in the shade would count for nothing in the change of the whole plot, and one in the light for too much. The pair as it
 * was where the plot has no mark, or all of it is in use, or too little is there to tell.
 * @param zones which light each cell lies in: 0 lit in both photos
 * @param marked 1 in the cells of marks
 * @param band cells about a shadow's edge that lie in neither light
 */
export function withBeyond(pair: PlotPair, zones: Uint8Array, marked: Uint8Array, band: number): PlotPair {
  if (!marked.includes(1) || !zones.some((zone) => zone > 0)) return pair;
  const { turf, before, after } = pair;
  const { width, height } = before;
  const around = zonesAround(zones, marked, width, height);
  const use = pair.use.map((u, i) => (u && around[i] === 0 ? 1 : 0));
  const lit = new Float64Array(7);
  const kinds = new Map<number, Kind>();
  for (const zone of new Set(around)) {
    const inside = around.map((z) => (z === zone ? 1 : 0));
    // At the edge of a shadow neighbours lie in different light.
    const well = inside.includes(0) ? shrink(inside, width, height, band) : inside;
    const kind: Kind = { bare: new Float64Array(7), marks: new Float64Array(7), leftOut: [0, 0] };
    for (let i = 0; i < use.length; i++) {
      if (!inside[i] || (turf && !turf[i]) || !before.seen[i] || !after.seen[i]) continue;
      if (use[i] && !marked[i]) add(lit, pair, i);
      if (well[i]) add(marked[i] ? kind.marks : kind.bare, pair, i);
      if (!use[i]) kind.leftOut[marked[i] ? 1 : 0]++;
    }
    kinds.set(zone, kind);
  }
  if (lit[6]! < MIN_CELLS) return pair;
  const told = [...kinds.values()].filter(({ bare, marks }) => bare[6]! >= MIN_CELLS && marks[6]! >= MIN_CELLS);
  const most = told.sort((a, b) => b.marks[6]! - a.marks[6]!)[0];
  const beyond = new Float64Array(7);
  for (const kind of kinds.values()) {
    const { leftOut } = kind;
    const by = told.includes(kind) ? kind : most;
    if (leftOut[1] > 0 && by === undefined) return pair;
    for (let c = 0; c < 6; c++) {
      const against = by === undefined ? 1 : by.marks[c]! / by.marks[6]! / Math.max(1e-6, by.bare[c]! / by.bare[6]!);
      beyond[c]! += (lit[c]! / lit[6]!) * (leftOut[0] + against * leftOut[1]);
    }
    beyond[6]! += leftOut[0] + leftOut[1];
  }
  return beyond[6]! > 0 ? { ...pair, use, beyond } : pair;
}

/** What lies in one light: turf and marks well inside it, and how many cells of each are not in use. */
interface Kind {
  readonly bare: Block;
  readonly marks: Block;
  readonly leftOut: [bare: number, marks: number];
}

/** So many cells about a mark may be told wrong with it. */
const HALO = 2;

/**
 * Which light each cell lies in, a mark's cells and their rim by what lies around them: a pale mark in the shade is as
 * light as turf in the sun.
 */
function zonesAround(zones: Uint8Array, marked: Uint8Array, width: number, height: number): Uint8Array {
  const open = grow(marked, width, height, HALO);
  const around = zones.slice();
  let edge = Array.from(open.keys()).filter((i) => !open[i]);
  const neighbours = (i: number): number[] =>
    [i % width > 0 ? i - 1 : -1, i % width < width - 1 ? i + 1 : -1, i - width, i + width].filter(
      (j) => j >= 0 && j < open.length && open[j],
    );
  while (edge.length > 0) {
    const next: number[] = [];
    for (const i of edge)
      for (const j of neighbours(i)) {
        open[j] = 0;
        around[j] = around[i]!;
        next.push(j);
      }
    edge = next;
  }
  return around;
}

function add(sums: Block, { before, after }: PlotPair, i: number): void {
  for (let c = 0; c < 3; c++) {
    sums[c]! += before.linear[i * 3 + c]!;
    sums[3 + c]! += after.linear[i * 3 + c]!;
  }
  sums[6]!++;
}

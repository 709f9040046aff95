import 'server-only';
import { PLANES_SIMD } from './planes-simd-bytes';

/**
 * The kernel of lining up (planes-simd.as). Addresses are bytes of its memory; a number named `to` is where an answer
 * goes.
 */
export interface PlanesKernel {
  readonly memory: WebAssembly.Memory;
  warp(after: number, aw: number, ah: number, map: number, before: number, to: number, w: number, h: number): void;
  correlate(before: number, warped: number, w: number, h: number, to: number): void;
  fit(
    before: number,
    w: number,
    after: number,
    aw: number,
    ah: number,
    map: number,
    places: number,
    blocks: number,
    count: number,
    to: number,
  ): void;
  blockPrecision(
    before: number,
    warped: number,
    w: number,
    h: number,
    block: number,
    across: number,
    blocks: number,
    sums: number,
    precision: number,
  ): void;
  moments(
    before: number,
    warped: number,
    w: number,
    h: number,
    block: number,
    across: number,
    precision: number,
    cx: number,
    cy: number,
    unit: number,
    to: number,
  ): void;
  layWindows(
    own: number,
    other: number,
    w: number,
    h: number,
    split: number,
    stride: number,
    table: number,
    tableOwn: number,
    tableOther: number,
    w0: number,
    w1: number,
    w2: number,
  ): void;
  setWindows(half: number, reach: number, template: number, surface: number): void;
  search(left: number, top: number, cutOff: number, least: number, seen: number, mostly: number, close: number): number;
  addSquares(bytes: number, width: number, rows: number, step: number, across: number, table: number, to: number): void;
  addRow(from: number, width: number, column: number, to: number): void;
  logs(r: number, g: number, b: number, count: number, dark: number, to: number): void;
  meanRows(from: number, to: number, w: number, h: number, radius: number): void;
  meanColumns(from: number, to: number, w: number, h: number, radius: number, sums: number): void;
  onlySeen(image: number, seen: number, count: number, to: number): void;
  lessLevel(image: number, level: number, count: number): void;
  scale(image: number, count: number, s0: number, s1: number, s2: number): void;
  dot(
    image: number,
    w: number,
    template: number,
    cols: number,
    rows: number,
    left: number,
    top: number,
    step: number,
  ): number;
  hessian(from: number, w: number, h: number, by: number, to: number): void;
  cubeRoots(values: number, count: number): void;
  greenSquares(
    bytes: number,
    width: number,
    rows: number,
    step: number,
    across: number,
    sums: number,
    to: number,
  ): void;
  darkBytes(grey: number, w: number, h: number, half: number, columns: number, to: number): void;
  peaks(
    below: number,
    here: number,
    above: number,
    w: number,
    h: number,
    margin: number,
    least: number,
    to: number,
    most: number,
  ): number;
}

let loaded: PlanesKernel | undefined;

/** Node runs SIMD in WebAssembly on every processor made since 2008; there are no plain loops beside these. */
function load(): PlanesKernel {
  const bytes = Uint8Array.from(atob(PLANES_SIMD), (c) => c.charCodeAt(0));
  return new WebAssembly.Instance(new WebAssembly.Module(bytes), {}).exports as unknown as PlanesKernel;
}

/** Where the data begins: behind what the compiler keeps for itself. */
const START = 1024;
/** Loads of sixteen bytes may reach this far past an array's end. */
const SPARE = 64;

/**
 * Lays arrays of so many bytes one after another in the kernel's memory and gives their addresses. They hold until the
 * next call: whatever uses the kernel lays its arrays, works, and takes its answers out before anything else does.
 */
export function lay<const T extends readonly number[]>(
  ...bytes: T
): { readonly kernel: PlanesKernel; readonly at: { readonly [K in keyof T]: number } } {
  loaded ??= load();
  let end = START;
  const at = bytes.map((size) => {
    const begin = end;
    end += (size + SPARE + 15) & ~15;
    return begin;
  });
  const missing = end - loaded.memory.buffer.byteLength;
  if (missing > 0) loaded.memory.grow(Math.ceil(missing / 65536));
  return { kernel: loaded, at: at as unknown as { readonly [K in keyof T]: number } };
}

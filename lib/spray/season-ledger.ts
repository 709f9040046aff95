import { type Element, ELEMENTS, NO_NUTRIENTS, type PerElement, sumNutrients } from './nutrients';

/** Nutrients that one spray put on some plots. Time is milliseconds since 1970, UTC. */
export interface LedgerEntry {
  readonly id: string;
  readonly startMs: number;
  readonly plotIds: readonly string[];
  readonly nutrientsKgPerHa: PerElement;
  /** False when a product of the spray had no known weight, so that the nutrients are a lower bound. */
  readonly complete: boolean;
}

export interface LedgerLine {
  readonly id: string;
  readonly startMs: number;
  readonly addedKgPerHa: PerElement;
  readonly totalKgPerHa: PerElement;
}

export interface PlotLedger {
  readonly plotId: string;
  /** In order of time. */
  readonly lines: readonly LedgerLine[];
  readonly totalKgPerHa: PerElement;
  readonly complete: boolean;
}

/**
 * Nutrients per plot over a span, line by line and in all.
 * @param fromMs counted from this moment on
 * @param toMs and before this one
 * @returns one ledger for each plot asked for, empty ones too
 */
export function seasonLedger(
  plotIds: readonly string[],
  entries: readonly LedgerEntry[],
  fromMs: number,
  toMs: number,
): readonly PlotLedger[] {
  const season = entries
    .filter((entry) => entry.startMs >= fromMs && entry.startMs < toMs)
    .sort((a, b) => a.startMs - b.startMs);
  return plotIds.map((plotId) => {
    const here = season.filter((entry) => entry.plotIds.includes(plotId));
    let totalKgPerHa = NO_NUTRIENTS;
    const lines = here.map((entry) => {
      totalKgPerHa = sumNutrients([totalKgPerHa, entry.nutrientsKgPerHa]);
      return { id: entry.id, startMs: entry.startMs, addedKgPerHa: entry.nutrientsKgPerHa, totalKgPerHa };
    });
    return { plotId, lines, totalKgPerHa, complete: here.every((entry) => entry.complete) };
  });
}

/** The elements with anything in them, in the usual order. */
export function elementsPresent(nutrients: PerElement): readonly Element[] {
  return ELEMENTS.filter((element) => nutrients[element] > 0);
}

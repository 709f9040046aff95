/** Items as a sentence lists them: a, b and c. */
export function listed(items: readonly string[]): string {
  return items.length < 2 ? items.join('') : `${items.slice(0, -1).join(', ')} and ${items.at(-1)!}`;
}

/** Three significant digits. */
export function shown(value: number): string {
  return String(Number(value.toPrecision(3)));
}

/** A p-value as a sentence says it. */
export function pWord(p: number): string {
  return p < 0.0001 ? 'p < 0.0001' : `p = ${p.toPrecision(2)}`;
}

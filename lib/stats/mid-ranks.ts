/** Ranks from 1, ties sharing their mean rank. */
export function midRanks(values: readonly number[]): number[] {
  const order = values.map((_, i) => i).sort((i, j) => values[i]! - values[j]!);
  const ranks = Array.from({ length: values.length }, () => 0);
  for (let start = 0; start < order.length;) {
    let end = start;
    while (end + 1 < order.length && values[order[end + 1]!] === values[order[start]!]) end += 1;
    for (let at = start; at <= end; at++) ranks[order[at]!] = (start + end) / 2 + 1;
    start = end + 1;
  }
  return ranks;
}

/**
 * Which end of the list gets the letter a. 'highest-first' is how trial reports print it; 'lowest-first' is what
 * R's emmeans prints by default, 'as-given' (order of the factor's levels) what R's multcomp prints.
 */
export type LetterOrder = 'highest-first' | 'lowest-first' | 'as-given';

/** Letter number i: a..z, A..Z, then .a, .b … */
function letterAt(i: number): string {
  const alphabet = 'abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ';
  return '.'.repeat(Math.floor(i / alphabet.length)) + alphabet[i % alphabet.length]!;
}

const contains = (large: readonly boolean[], small: readonly boolean[]): boolean => small.every((inside, i) => !inside || large[i]!);

/** Splits each column that joins a significant pair, and drops columns that another contains. */
function insertAndAbsorb(n: number, significant: (i: number, j: number) => boolean): boolean[][] {
  let columns: boolean[][] = [Array.from({ length: n }, () => true)];
  for (let i = 0; i < n; i++) {
    for (let j = i + 1; j < n; j++) {
      if (!significant(i, j)) continue;
      const split = columns.flatMap((column) =>
        column[i] && column[j] ? [column.map((inside, at) => inside && at !== i), column.map((inside, at) => inside && at !== j)] : [column],
      );
      columns = split.filter(
        (column, at) => !split.some((other, k) => k !== at && contains(other, column) && (k < at || !contains(column, other))),
      );
    }
  }
  return columns;
}

const size = (column: readonly boolean[]): number => column.filter(Boolean).length;

/** Takes a letter from an entry whose every partner in that column shares another column with it, smallest columns first. */
function sweep(columns: readonly (readonly boolean[])[]): boolean[][] {
  const result = columns.map((column) => [...column]).sort((a, b) => size(a) - size(b));
  const n = result[0]!.length;
  for (const column of result) {
    for (let i = 0; i < n; i++) {
      if (!column[i] || size(column) < 2) continue;
      const needed = column.some((inside, j) => inside && j !== i && !result.some((other) => other !== column && other[i] && other[j]));
      if (!needed) column[i] = false;
    }
  }
  return result.filter((column) => column.some(Boolean));
}

/**
 * Compact letter display: two means share a letter exactly when they are not significantly different.
 * @param means for the order of the letters; @param significant tells of a pair of positions
 * @returns one string of letters a mean, in the order given
 * @see Piepho 2004, J. Comput. Graph. Stat. 13:456 (insert-absorb and sweep)
 */
export function compactLetters(means: readonly number[], significant: (i: number, j: number) => boolean, order: LetterOrder): string[] {
  const n = means.length;
  if (n === 0) return [];
  const places = means.map((_, i) => i);
  if (order !== 'as-given') places.sort((i, j) => (order === 'highest-first' ? means[j]! - means[i]! : means[i]! - means[j]!) || i - j);
  const columns = sweep(insertAndAbsorb(n, (i, j) => significant(places[i]!, places[j]!)));
  columns.sort((a, b) => a.indexOf(true) - b.indexOf(true) || a.lastIndexOf(true) - b.lastIndexOf(true));
  const letters = Array.from({ length: n }, () => '');
  columns.forEach((column, c) => column.forEach((inside, i) => (inside ? (letters[places[i]!] += letterAt(c)) : undefined)));
  return letters;
}

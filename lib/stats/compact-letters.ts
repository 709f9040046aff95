/**
 * Which end of the list gets the letter a. 'highest-first' is how trial reports print it; 'lowest-first' is what
 * R's emmeans prints by default, 'as-given' (order of the factor's levels) what R's multcomp and multcompView print.
 */
export type LetterOrder = 'highest-first' | 'lowest-first' | 'as-given';

/** Letter number i: a..z, A..Z, then .a, .b … */
function letterAt(i: number): string {
  const alphabet = 'abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ';
  return '.'.repeat(Math.floor(i / alphabet.length)) + alphabet[i % alphabet.length]!;
}

const contains = (large: readonly boolean[], small: readonly boolean[]): boolean =>
  small.every((inside, i) => !inside || large[i]!);

/** Splits each column that joins a significant pair, and drops columns that another contains. */
function insertAndAbsorb(n: number, significant: (i: number, j: number) => boolean): boolean[][] {
  let columns: boolean[][] = [Array.from({ length: n }, () => true)];
  for (let i = 0; i < n; i++) {
    for (let j = i + 1; j < n; j++) {
      if (!significant(i, j)) continue;
      const split = columns.flatMap((column) =>
        column[i] && column[j]
          ? [column.map((inside, at) => inside && at !== i), column.map((inside, at) => inside && at !== j)]
          : [column],
      );
      columns = split.filter(
        (column, at) =>
          !split.some((other, k) => k !== at && contains(other, column) && (k < at || !contains(column, other))),
      );
    }
  }
  return columns;
}

/** Columns in the order of their first members, then of their second, and so on. */
function byMembers(a: readonly boolean[], b: readonly boolean[]): number {
  const at = a.findIndex((inside, i) => inside !== b[i]);
  return at < 0 ? 0 : a[at] ? -1 : 1;
}

/**
 * Compact letter display: two means share a letter exactly when they are not significantly different.
 * @param means for the order of the letters; @param significant tells of a pair of positions
 * @returns one string of letters a mean, in the order given
 * @see Piepho 2004, J. Comput. Graph. Stat. 13:456 (insert-absorb). His optional sweep, which takes spare letters away
 *   (abc becomes ac), is left out, as in R's emmeans and multcompView; R's multcomp sweeps, and there alone such
 *   letters differ.
 */
export function compactLetters(
  means: readonly number[],
  significant: (i: number, j: number) => boolean,
  order: LetterOrder,
): string[] {
  const n = means.length;
  if (n === 0) return [];
  const places = means.map((_, i) => i);
  if (order !== 'as-given')
    places.sort((i, j) => (order === 'highest-first' ? means[j]! - means[i]! : means[i]! - means[j]!) || i - j);
  const columns = insertAndAbsorb(n, (i, j) => significant(places[i]!, places[j]!)).sort(byMembers);
  const letters = Array.from({ length: n }, () => '');
  columns.forEach((column, c) =>
    column.forEach((inside, i) => (inside ? (letters[places[i]!] += letterAt(c)) : undefined)),
  );
  return letters;
}

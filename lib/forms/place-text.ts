/** Where a lawn lies, as far as what was typed says so. */
export interface PlaceRead {
  readonly words: string;
  /** −90 to 90, south negative; null where the text holds no coordinates. */
  readonly latitudeDeg: number | null;
  /** −180 to 180, west negative. */
  readonly longitudeDeg: number | null;
}

const NUMBER = String.raw`([-+−]?\d{1,3}(?:[.,]\d+)?)`;
const MINUTES = String.raw`(?:\s*[°º]\s*(?:(\d{1,2}(?:[.,]\d+)?)\s*['′’]\s*)?(?:(\d{1,2}(?:[.,]\d+)?)\s*["″”]\s*)?)?`;
const PAIR = new RegExp(String.raw`${NUMBER}${MINUTES}\s*([NS])?\s*[,;/\s]\s*${NUMBER}${MINUTES}\s*([EW])?`, 'i');

const numberOf = (text: string | undefined): number => Number((text ?? '0').replace('−', '-').replace(',', '.'));

function degrees(
  whole: string | undefined,
  minutes: string | undefined,
  seconds: string | undefined,
  side: string | undefined,
): number {
  const start = numberOf(whole);
  const size = Math.abs(start) + numberOf(minutes) / 60 + numberOf(seconds) / 3600;
  return start < 0 || /[SW]/i.test(side ?? '') ? -size : size;
}

/**
 * Reads coordinates out of what was typed, as maps and phones write them: `41.88, -87.63`, `41.88 N 87.63 W`,
 * `41°52′48″N 87°37′48″W`. Anything else is words, kept as typed. Nothing is looked up.
 */
export function readPlace(text: string): PlaceRead {
  const found = PAIR.exec(text.replaceAll(/(\d),(?=\s)/g, '$1 ,'));
  const words = { words: text.trim(), latitudeDeg: null, longitudeDeg: null };
  if (!found) return words;
  const latitudeDeg = degrees(found[1], found[2], found[3], found[4]);
  const longitudeDeg = degrees(found[5], found[6], found[7], found[8]);
  // Two numbers without a point, a degree or a side are a house number sooner than a place on earth.
  const saysSo = /[.,°º]\d|[°º]|[NSEW]\b/i.test(found[0]);
  if (!saysSo || Math.abs(latitudeDeg) > 90 || Math.abs(longitudeDeg) > 180) return words;
  return { words: text.trim(), latitudeDeg, longitudeDeg };
}

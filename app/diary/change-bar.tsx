import { indexSize, signedIndex } from '@/lib/units/show-index';
import type { Figure } from '@/lib/work/photos/changes';

/** The largest change a page shows, on a round step, so that its bars can be compared with each other. */
export function barScale(figures: readonly (Figure | null)[]): number {
  const most = Math.max(
    0.05,
    ...figures.flatMap((figure) =>
      figure ? [Math.abs(figure.value), Math.abs(figure.low95 ?? 0), Math.abs(figure.high95 ?? 0)] : [],
    ),
  );
  return Math.ceil(most * 50) / 50;
}

/**
 * A change as a bar from the middle, to the right when darker, with its 95 % interval as a line; its number stands
 * beside it.
 */
export function ChangeBar({ figure, scale }: { figure: Figure; scale: number }) {
  const place = (value: number) => 50 + (50 * Math.max(-scale, Math.min(scale, value))) / scale;
  const { value, low95, high95 } = figure;
  const unsure = low95 === null || high95 === null || (low95 <= 0 && high95 >= 0);
  const [from, to] = [Math.min(50, place(value)), Math.max(50, place(value))];
  return (
    <span className="change">
      <span
        className={unsure ? 'change-bar change-unsure' : value < 0 ? 'change-bar change-paler' : 'change-bar'}
        aria-hidden
      >
        <span className="change-fill" style={{ left: `${from}%`, width: `${to - from}%` }} />
        {low95 !== null && high95 !== null && (
          <span
            className="change-reach"
            style={{ left: `${place(low95)}%`, width: `${place(high95) - place(low95)}%` }}
          />
        )}
        <span className="change-zero" />
      </span>
      <span className="number">
        <strong>{signedIndex(value)}</strong>
        {low95 !== null && high95 !== null && (
          <span className="soft">
            {' '}
            {low95 > 0
              ? `${indexSize(low95)} to ${indexSize(high95)}`
              : `${signedIndex(low95)} to ${signedIndex(high95)}`}
          </span>
        )}
      </span>
    </span>
  );
}

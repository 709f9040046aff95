import Link from 'next/link';
import { dayText, type Reader } from '@/lib/units/dates';
import { markKindWords, markStateWords } from '@/app/_ui/mark-words';
import type { MarkKind } from '@/lib/photo/marks/kind';
import type { Mark } from '@/lib/work/photos/marks';
import { showArea, type UnitSystem } from '@/lib/units/display';
import { judgeMarkShown } from './actions';

const kinds = Object.entries(markKindWords) as [MarkKind, string][];

/** The marks found in a photo, each to be confirmed, dismissed or called something else. */
export function MarksList({
  marks,
  alone,
  system,
  reader,
  since,
}: {
  marks: readonly Mark[];
  /** Plots without an earlier photo to compare with. */ alone: ReadonlySet<string>;
  system: UnitSystem;
  reader: Reader;
  since: Map<string, Date>;
}) {
  if (marks.length === 0)
    return (
      <p className="soft">
        {alone.size > 0
          ? 'Nothing stands out from its plot in this photo.'
          : 'No mark found against the baseline photo.'}
      </p>
    );
  return (
    <>
      {marks.map((mark) => (
        <div key={mark.id} className="reading">
          <div className="row row-end">
            <strong>
              {markKindWords[mark.kind]} on {mark.plotName}
            </strong>
            <span className={`chip ${mark.state === 'dismissed' ? '' : 'chip-mark'}`}>
              {markStateWords[mark.state]}
            </span>
          </div>
          <div className="soft">
            {alone.has(mark.plotId)
              ? 'May be old: there is no earlier photo to compare with'
              : mark.isNew
                ? 'New since the baseline photo'
                : 'Already there before'}
            {since.has(mark.patchId) && `, first seen ${dayText(since.get(mark.patchId) as Date, reader)}`}
            {' · '}
            {(mark.areaShare * 100).toFixed(1)} % of the plot
            {mark.areaM2 !== null && ` (${showArea(mark.areaM2, system).text})`}
            {mark.severityDeltaE00 !== null &&
              ` · differs from the turf around it by ${mark.severityDeltaE00.toFixed(1)} (CIEDE2000)`}
          </div>
          <form action={judgeMarkShown} className="row" style={{ marginTop: '0.4rem' }}>
            <input type="hidden" name="id" value={mark.id} />
            <select name="kind" defaultValue={mark.kind} aria-label="What it is" style={{ width: 'auto' }}>
              {kinds.map(([kind, words]) => (
                <option key={kind} value={kind}>
                  {words}
                </option>
              ))}
            </select>
            <button type="submit" name="state" value="confirmed" className="button-plain">
              Yes, it is there
            </button>
            <button type="submit" name="state" value="dismissed" className="button-plain">
              No, it is not
            </button>
            {mark.state !== 'dismissed' && mark.isNew && (
              <Link className="button" href={`/marks/${mark.id}`}>
                Why?
              </Link>
            )}
          </form>
        </div>
      ))}
    </>
  );
}

import { dayText, type Reader } from '@/lib/units/dates';
import type { Cut, PlotView } from '@/lib/work/photos/plot-cuts';

/**
 * A marked plot from above, before and now, the same ground in the same place; the outline runs round the patch and can
 * be put away.
 */
export function MarkPictures({ view, atMs, reader }: { view: PlotView; atMs: number; reader: Reader }) {
  return (
    <div className={view.now.turned ? 'mark-pictures' : 'mark-pictures mark-pictures-beside'}>
      {view.before && view.beforeMs !== null && (
        <Picture cut={view.before} title={`Before, ${dayText(view.beforeMs, reader)}`} />
      )}
      <Picture cut={view.now} title={dayText(atMs, reader)} marks={view.marks} />
      {view.check && <Picture cut={view.check} title={`${view.checkName ?? 'The check'}, ${dayText(atMs, reader)}`} />}
      {view.marks.length > 0 && (
        <label className="mark-outline">
          <input type="checkbox" defaultChecked /> Outline of the patch
        </label>
      )}
    </div>
  );
}

function Picture({ cut, title, marks = [] }: { cut: Cut; title: string; marks?: PlotView['marks'] }) {
  return (
    <figure>
      <div className="band" style={{ aspectRatio: `${cut.width} / ${cut.height}` }}>
        <img src={cut.src} width={cut.width} height={cut.height} alt={`The plot from above, ${title}`} />
        {marks.length > 0 && (
          <svg viewBox="0 0 1 1" preserveAspectRatio="none" aria-hidden="true">
            {marks.map((mark) => (
              <polygon
                key={mark.id}
                className="band-mark"
                points={mark.points.map(([x, y]) => `${x},${y}`).join(' ')}
              />
            ))}
          </svg>
        )}
      </div>
      <figcaption className="soft">{title}</figcaption>
    </figure>
  );
}

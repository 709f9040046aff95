'use client';
import Link from 'next/link';
import { useState, type CSSProperties } from 'react';
import { saysCheck } from '@/app/_ui/change-text';
import { markKindWords } from '@/app/_ui/mark-words';
import { shortDayText, type Reader } from '@/lib/units/dates';
import type { Cut, PlotView } from '@/lib/work/photos/plot-cuts';
import { ChangeBar } from './change-bar';

/**
 * The plots of one photo, each cut out from above and laid against the check along a seam; the same ground lies in the
 * same place on every date. One slider draws the time before the spray over all of them.
 */
export function PlotBands({
  views,
  scale,
  reader,
  large = false,
}: {
  views: readonly PlotView[];
  scale: number;
  reader: Reader;
  large?: boolean;
}) {
  const [share, setShare] = useState(0);
  // The earlier pictures are fetched when somebody reaches for the slider.
  const [reached, setReached] = useState(false);
  const beforeMs = views.find((view) => view.beforeMs !== null)?.beforeMs ?? null;
  const reach = () => setReached(true);
  return (
    <div className="bands-hold" style={{ '--share': `${share}%` } as CSSProperties}>
      {/* On a phone it is swiped along, so the keyboard must be able to as well. */}
      <div
        className={large ? 'bands bands-large' : 'bands'}
        role="group"
        aria-label="Plots beside the check"
        tabIndex={0}
      >
        {views.map((view) => (
          <figure key={view.plotId} className={view.marks.length > 0 ? 'band-pair band-marked' : 'band-pair'}>
            <div className={view.now.turned ? 'band-stack' : 'band-stack band-beside'}>
              {view.check && (
                <Band
                  now={view.check}
                  before={reached ? view.checkBefore : null}
                  name={
                    view.checkName && !saysCheck(view.checkName)
                      ? `${view.checkName}, the check`
                      : (view.checkName ?? '')
                  }
                  marks={[]}
                />
              )}
              <Band now={view.now} before={reached ? view.before : null} name={view.plotName} marks={view.marks} />
            </div>
            <figcaption>
              {view.change ? (
                <ChangeBar figure={view.change} scale={scale} />
              ) : (
                <span className="soft">
                  {view.refused ??
                    (view.check || view.silent === 'waiting'
                      ? silences[view.silent ?? 'nothing-before']
                      : 'no check beside it')}
                </span>
              )}
              {view.marksLeftOut > 0 && (
                <span className="soft">
                  {view.marksLeftOut === 1 ? 'marked patch left out' : 'marked patches left out'}
                </span>
              )}
              {view.marks.map((mark) => (
                <Link key={mark.id} className="chip chip-mark" href={`/marks/${mark.id}`}>
                  {markKindWords[mark.kind]}
                </Link>
              ))}
            </figcaption>
          </figure>
        ))}
      </div>
      {beforeMs !== null && (
        <label className="band-slide">
          <span className="soft">{shortDayText(beforeMs, reader)}, before</span>
          <input
            type="range"
            min={0}
            max={100}
            value={share}
            aria-label="How much of the time before the spray is shown"
            aria-valuetext={`${share} % of ${shortDayText(beforeMs, reader)}, before the spray`}
            onPointerDown={reach}
            onFocus={reach}
            onChange={(event) => {
              reach();
              setShare(Number(event.target.value));
            }}
          />
          <span className="soft">now</span>
        </label>
      )}
    </div>
  );
}

const silences = {
  'before-spray': 'before any spray',
  waiting: 'being worked out',
  'nothing-before': 'nothing from before to compare with',
} as const;

function Band({ now, before, name, marks }: { now: Cut; before: Cut | null; name: string; marks: PlotView['marks'] }) {
  return (
    <div className="band" style={{ aspectRatio: `${now.width} / ${now.height}` }}>
      <img
        src={now.src}
        width={now.width}
        height={now.height}
        alt={`${name} from above`}
        loading="lazy"
        decoding="async"
      />
      {marks.length > 0 && (
        <svg viewBox="0 0 1 1" preserveAspectRatio="none" aria-hidden>
          {marks.map((mark) => (
            <polygon key={mark.id} className="band-mark" points={mark.points.map(([x, y]) => `${x},${y}`).join(' ')} />
          ))}
        </svg>
      )}
      {before && (
        <img
          className="band-before"
          src={before.src}
          width={before.width}
          height={before.height}
          alt=""
          decoding="async"
        />
      )}
      {before && <span className="band-seam" />}
      <span className="band-name">{name}</span>
    </div>
  );
}

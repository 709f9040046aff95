'use client';
import Link from 'next/link';
import { useEffect, useState, type CSSProperties, type KeyboardEvent, type PointerEvent } from 'react';
import { eventKindWords } from '@/app/_ui/event-words';
import { seriesColours } from '@/app/_ui/charts/chart-inks';
import { dayText, shortDayText, type Reader } from '@/lib/units/dates';
import { signedIndex } from '@/lib/units/show-index';
import type { SeasonBand } from '@/lib/work/response/season-band';
import { barScale } from './change-bar';
import { PlotBands } from './plot-bands';

const DASHES = ['', '7 4', '2 3', '9 3 2 3', '12 4', '4 2'];
/** A film's pace. */
const FRAME_MS = 750;

/**
 * The season in one band: each plot's change as a line, sprays, other events, photos and rain below; moving along shows
 * that day's plots.
 */
export function SeasonStrip({
  band,
  reader,
  rainText,
}: {
  band: SeasonBand;
  reader: Reader;
  /** The wettest day, in the reader's unit. */ rainText: string | null;
}) {
  const { photos, plots, fromMs, toMs } = band;
  const [at, setAt] = useState(photos.length - 1);
  const [film, setFilm] = useState<string | null>(null);
  const photo = photos[Math.min(at, photos.length - 1)]!;
  const x = (ms: number) => (100 * (ms - fromMs)) / (toMs - fromMs);
  const scale = barScale(photos.flatMap((one) => one.views.map((view) => view.change)));
  const lowest = Math.min(
    0,
    ...photos.flatMap((one) => one.views.map((view) => Math.min(view.change?.value ?? 0, view.change?.low95 ?? 0))),
  );
  const highest = Math.max(
    0.02,
    ...photos.flatMap((one) => one.views.map((view) => Math.max(view.change?.value ?? 0, view.change?.high95 ?? 0))),
  );
  const y = (value: number) => 96 - (92 * (value - lowest)) / (highest - lowest);
  const wettest = Math.max(1, ...band.rain.map((day) => day.mm));

  useEffect(() => {
    if (film === null) return;
    const timer = setInterval(() => setAt((now) => (now + 1 < photos.length ? now + 1 : 0)), FRAME_MS);
    return () => clearInterval(timer);
  }, [film, photos.length]);

  const show = (next: number) => {
    setFilm(null);
    setAt(Math.max(0, Math.min(photos.length - 1, next)));
  };
  const nearest = (ms: number) =>
    photos.reduce(
      (best, one, place) => (Math.abs(one.atMs - ms) < Math.abs(photos[best]!.atMs - ms) ? place : best),
      0,
    );
  const point = (event: PointerEvent<HTMLDivElement>) => {
    if (event.pointerType !== 'mouse' && event.buttons === 0) return;
    const box = event.currentTarget.getBoundingClientRect();
    show(nearest(fromMs + ((event.clientX - box.left) / box.width) * (toMs - fromMs)));
  };
  const keys = (event: KeyboardEvent<HTMLInputElement>) => {
    const step = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, Home: -photos.length, End: photos.length }[
      event.key
    ];
    if (step === undefined) return;
    event.preventDefault();
    show(at + step);
  };
  const play = (plotId: string) => {
    if (film === plotId) return setFilm(null);
    // The pictures come before the film runs, so that no frame is empty.
    for (const view of photos.flatMap((one) => one.views.filter((each) => each.plotId === plotId))) {
      for (const cut of [view.now, view.check]) if (cut) new Image().src = cut.src;
    }
    setAt(0);
    setFilm(plotId);
  };
  const shown = film === null ? photo.views : photo.views.filter((view) => view.plotId === film);
  const said = photo.views
    .map((view) => `${view.plotName} ${view.change ? signedIndex(view.change.value) : 'no change to give'}`)
    .join(', ');
  return (
    <section className="sheet season" aria-label="The season">
      <div className="season-grid">
        <span className="season-lane">change</span>
        <div className="season-field" onPointerMove={point} onPointerDown={point}>
          <svg className="season-lines" viewBox="0 0 100 100" preserveAspectRatio="none" aria-hidden>
            <line className="season-zero" x1="0" x2="100" y1={y(0)} y2={y(0)} />
            {plots.map((plot, tone) => {
              const points = photos.flatMap((one) => {
                const change = one.views.find((view) => view.plotId === plot.id)?.change;
                return change ? [{ ms: one.atMs, ...change }] : [];
              });
              const colour = seriesColours[tone % seriesColours.length];
              const sure = points.filter((one) => one.low95 !== null && one.high95 !== null);
              const reach = [
                ...sure.map((one) => `${x(one.ms)},${y(one.high95!)}`),
                ...sure.toReversed().map((one) => `${x(one.ms)},${y(one.low95!)}`),
              ].join(' ');
              return (
                <g key={plot.id} style={{ '--tone': colour } as CSSProperties}>
                  {sure.length > 1 && <polygon className="season-reach" points={reach} />}
                  <polyline
                    className="season-line"
                    strokeDasharray={DASHES[tone % DASHES.length]}
                    points={points.map((one) => `${x(one.ms)},${y(one.value)}`).join(' ')}
                  />
                </g>
              );
            })}
          </svg>
          <span className="season-cursor" style={{ left: `${x(photo.atMs)}%` }} />
        </div>
        <span className="season-lane">sprays</span>
        <div className="season-row">
          {band.sprays.map((spray) => (
            <Link
              key={spray.id}
              className="season-spray"
              style={{ left: `${x(spray.atMs)}%` }}
              href={`/sprays/${spray.id}`}
              title={`Spray of ${shortDayText(spray.atMs, reader)}: ${spray.plots}`}
            >
              <span className="visually-hidden">
                Spray of {shortDayText(spray.atMs, reader)} on {spray.plots}
              </span>
            </Link>
          ))}
        </div>
        <span className="season-lane">other</span>
        <div className="season-row">
          {band.events.map((event) => (
            <Link
              key={event.id}
              className="season-event"
              style={{ left: `${x(event.atMs)}%` }}
              href={`/events/${event.id}`}
              title={`${eventKindWords[event.kind]}, ${shortDayText(event.atMs, reader)}`}
            >
              <span className="visually-hidden">
                {eventKindWords[event.kind]}, {shortDayText(event.atMs, reader)}
              </span>
            </Link>
          ))}
        </div>
        <span className="season-lane">rain</span>
        <div className="season-row season-rain" title={rainText === null ? undefined : `Wettest day ${rainText}`}>
          {band.rain.map((day) => (
            <span key={day.atMs} style={{ left: `${x(day.atMs)}%`, height: `${(100 * day.mm) / wettest}%` }} />
          ))}
          {band.rain.length === 0 && <span className="season-none">none known</span>}
        </div>
        <span className="season-lane">photos</span>
        <div className="season-row">
          {photos.map((one, place) => (
            <span
              key={one.id}
              className={place === at ? 'season-photo season-photo-on' : 'season-photo'}
              style={{ left: `${x(one.atMs)}%` }}
            />
          ))}
        </div>
        <span />
        <input
          className="season-slide"
          type="range"
          min={fromMs}
          max={toMs}
          step="any"
          value={photo.atMs}
          aria-label="Move along the season, photo by photo"
          aria-valuetext={`${dayText(photo.atMs, reader)}: ${said}`}
          onKeyDown={keys}
          onChange={(event) => show(nearest(Number(event.target.value)))}
        />
      </div>
      <ul className="season-plots">
        {plots.map((plot, tone) => (
          <li key={plot.id}>
            <button type="button" className="chip" aria-pressed={film === plot.id} onClick={() => play(plot.id)}>
              <svg width="26" height="8" aria-hidden>
                <line
                  x1="0"
                  x2="26"
                  y1="4"
                  y2="4"
                  stroke={seriesColours[tone % seriesColours.length]}
                  strokeWidth="3"
                  strokeDasharray={DASHES[tone % DASHES.length]}
                />
              </svg>
              {plot.name} {film === plot.id ? '❚❚' : '▶'}
              <span className="visually-hidden">{film === plot.id ? 'Stop the film' : 'Film through the season'}</span>
            </button>
          </li>
        ))}
      </ul>
      <p className="season-day">
        <Link href={`/photos/${photo.id}`}>{dayText(photo.atMs, reader)}</Link>
        <span className="soft"> · light differs from day to day, so compare with the check of the same photo</span>
      </p>
      <PlotBands
        key={film === null ? 'day' : 'film'}
        views={shown}
        scale={scale}
        reader={reader}
        large={film !== null}
      />
    </section>
  );
}

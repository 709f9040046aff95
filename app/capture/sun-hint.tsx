'use client';
import { useSyncExternalStore } from 'react';
import { CAUTION_LIMITS } from '@/lib/photo/cautions';
import { sunPosition } from '@/lib/weather/sun-position';

const minuteMs = 60_000;
const thisMinute = () => Math.floor(Date.now() / minuteMs) * minuteMs;

function everyMinute(changed: () => void): () => void {
  const timer = setInterval(changed, minuteMs);
  return () => clearInterval(timer);
}

/**
 * How high the sun stands over the lawn now, against the limit below which colour can't be trusted and against the last
 * photo.
 */
export function SunHint({
  latitudeDeg,
  longitudeDeg,
  lastElevationDeg,
}: {
  latitudeDeg: number | null;
  longitudeDeg: number | null;
  lastElevationDeg: number | null;
}) {
  const nowMs = useSyncExternalStore<number | null>(everyMinute, thisMinute, () => null);
  if (nowMs === null) return null;
  if (latitudeDeg === null || longitudeDeg === null)
    return <p className="soft">Give the lawn its place on the Lawn page to see how high the sun stands.</p>;
  const elevation = sunPosition(nowMs, latitudeDeg, longitudeDeg).altitudeDeg;
  const limit = CAUTION_LIMITS.sunElevationDeg;
  const beside =
    lastElevationDeg === null ? '' : ` It stood at ${lastElevationDeg.toFixed(0)}° in the last photo from here.`;
  if (elevation < 0)
    return (
      <p className="notice">
        The sun is down over this lawn ({Math.abs(elevation).toFixed(0)}° below the horizon): colour can’t be measured.
        {beside}
      </p>
    );
  if (elevation < limit)
    return (
      <p className="notice">
        The sun stands only {elevation.toFixed(0)}° high: below {limit}° light is long and reddish, and colour can’t be
        trusted.{beside}
      </p>
    );
  return (
    <p className="soft">
      Sun {elevation.toFixed(0)}° high, fine for colour.{beside}
    </p>
  );
}

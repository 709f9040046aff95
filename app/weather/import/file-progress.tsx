'use client';
import type { FileProgress } from '@/lib/work/weather/take-weather-file';
import { count } from './read-columns';

export function Progress({ progress, hoursInAll }: { progress: FileProgress | null; hoursInAll: number | null }) {
  const of = progress?.of ?? hoursInAll;
  const share = progress && of ? Math.min(1, progress.done / of) : null;
  return (
    <div>
      <div
        className="progress"
        role="progressbar"
        aria-label="Read"
        aria-valuemin={0}
        aria-valuemax={100}
        {...(share === null ? {} : { 'aria-valuenow': Math.round(share * 100) })}
      >
        <span style={{ width: `${(share ?? 0.1) * 100}%` }} />
      </div>
      <p className="soft">
        {progress === null
          ? 'Reading …'
          : progress.stage === 'reading'
            ? `${count(progress.done)} rows read`
            : `${count(progress.done)} of ${count(progress.of ?? 0)} hours written`}
      </p>
    </div>
  );
}

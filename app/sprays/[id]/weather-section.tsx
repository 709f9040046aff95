import Link from 'next/link';
import { dayKey, dayText, timeText } from '@/lib/units/dates';
import { Drying } from '@/app/_ui/drying';
import { Reasons, VerdictWord } from '@/app/_ui/reasons';
import { sunText, waterText } from '@/app/_ui/weather-text';
import type { Lawn } from '@/lib/diary/lawns';
import type { Spray } from '@/lib/diary/sprays';
import { lookBackOnSpray } from '@/lib/work/weather/spray-weather';

/**
 * What the weather did to a past spray, or will do to a planned one: the score a coming hour gets, the drying time,
 * rain since.
 */
export async function WeatherSection({ lawn, spray }: { lawn: Lawn; spray: Spray }) {
  const ahead = spray.state === 'planned';
  const title = ahead ? 'How the weather would be for it' : 'How the weather was for it';
  const answer = await lookBackOnSpray(lawn, spray, new Date());
  if (answer.kind !== 'looked-back') {
    return (
      <section className="sheet">
        <h2>{title}</h2>
        <p className="soft">
          {answer.kind === 'no-place' ? (
            <>
              Scoring it needs the lawn’s latitude and longitude: <Link href="/lawn">fill them in</Link>.
            </>
          ) : (
            <>
              No weather hours for that time yet: <Link href="/weather/import">import a logger’s file</Link> or type the
              weather into the spray. It is scored by itself once they are there.
            </>
          )}
        </p>
      </section>
    );
  }
  const { score, drying, film, sensitivity, basis, rainSince, hoursToRain, sun, assumed } = answer.lookBack;
  const system = lawn.unitSystem;
  return (
    <section className="sheet">
      <h2>{title}</h2>
      <p>
        <VerdictWord verdict={score.verdict} />{' '}
        <span className="soft">
          {ahead ? 'by what is known now' : 'by what happened'},{' '}
          {basis === 'hours' ? 'from the weather hours' : 'from the weather typed with it, held steady'}
        </span>
      </p>
      <h3>Drying</h3>
      <Drying result={drying} film={film} sensitivity={sensitivity} system={system} reader={lawn} assumed={assumed} />
      <h3>{ahead ? 'Sun' : 'Rain and sun'}</h3>
      <p>
        {ahead
          ? ''
          : rainSince.hoursKnown === 0
            ? 'Rain since: not known.'
            : `Rain since: ${waterText(rainSince.rainMm, system)} in ${Math.round(rainSince.hoursKnown / 24)} days${rainSince.hoursUnknown > 0.5 ? `, at least (${Math.round(rainSince.hoursUnknown)} h not known)` : ''}; ${hoursToRain === null ? 'none fell in the hours known' : `the first ${Math.round(hoursToRain)} h after the spray`}.`}{' '}
        That day, {sunText(sun.sun, lawn)}.
      </p>
      <details>
        <summary>Each hour’s reasons</summary>
        {score.hours.map((hour) => (
          <div key={hour.startUtcMs}>
            <h3>
              {timeText(new Date(hour.startUtcMs), lawn)} to {timeText(new Date(hour.endUtcMs), lawn)},{' '}
              {hour.points.toFixed(0)} of 100 points
            </h3>
            <Reasons reasons={hour.reasons} />
          </div>
        ))}
      </details>
      <p>
        <Link href={`/weather/day/${dayKey(spray.startedAt, lawn.timeZone)}`}>
          All hours of {dayText(spray.startedAt, lawn)}
        </Link>
      </p>
    </section>
  );
}

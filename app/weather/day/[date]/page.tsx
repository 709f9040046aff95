import type { Metadata } from 'next';
import Link from 'next/link';
import { notFound } from 'next/navigation';
import { HowEach } from '@/app/_ui/how';
import { currentLawn } from '@/app/_ui/current-lawn';
import { dateText, momentText, timeText } from '@/lib/units/dates';
import { fixed, sunText, waterText } from '@/app/_ui/weather-text';
import { TableHold } from '@/app/_ui/table-hold';
import { readCalendarDay } from '@/lib/forms/queries/weather-query';
import {
  showAirPressure,
  showSpeed,
  showTemperature,
  showTemperatureDifference,
  significant,
} from '@/lib/units/display';
import { fromM } from '@/lib/units/length';
import { dayWeather } from '@/lib/work/weather/day-weather';

export const metadata: Metadata = { title: 'Weather of a day' };

export default async function DayPage({ params }: { params: Promise<{ date: string }> }) {
  const { date } = await params;
  const lawn = await currentLawn();
  const day = readCalendarDay(date);
  if (!lawn || !day) notFound();
  const { hours, hoursInDay, summary, leafWet, sun, rainSinceSpray } = await dayWeather(lawn, day);
  const system = lawn.unitSystem;
  const step = (days: number) => new Date(Date.UTC(day.year, day.month - 1, day.day + days)).toISOString().slice(0, 10);
  const temp = (value: number | null) => (value === null ? '–' : showTemperature(value, system).text);
  const water = (value: number | null) => (value === null ? '–' : waterText(value, system));
  return (
    <>
      <div className="row row-end">
        <h1>Weather of {dateText(date, lawn)}</h1>
        <div className="row">
          <Link className="button" href={`/weather/day/${step(-1)}`}>
            Day before
          </Link>
          <Link className="button" href={`/weather/day/${step(1)}`}>
            Day after
          </Link>
        </div>
      </div>
      <section className="sheet">
        <dl className="facts">
          <div>
            <dt>Highest, lowest</dt>
            <dd>{summary ? `${temp(summary.maxTempC)}, ${temp(summary.minTempC)}` : '–'}</dd>
          </div>
          <div>
            <dt>Rain</dt>
            <dd>{water(summary?.rainMm ?? null)}</dd>
          </div>
          <div>
            <dt>ETo (FAO-56)</dt>
            <dd>{water(summary?.etoMm ?? null)}</dd>
          </div>
          <div>
            <dt>Mean, highest VPD</dt>
            <dd>
              {summary?.meanVpdKPa == null
                ? '–'
                : `${showAirPressure(summary.meanVpdKPa, system).text}, ${showAirPressure(summary.maxVpdKPa ?? 0, system).text}`}
            </dd>
          </div>
          <div>
            <dt>Leaf wet</dt>
            <dd>
              {leafWet.wet} h{leafWet.unknown > 0 && `, ${leafWet.unknown} h not known`}
            </dd>
          </div>
          <div>
            <dt>Hours known</dt>
            <dd>
              {hours.length} of {hoursInDay}
            </dd>
          </div>
        </dl>
        <p>
          {sun
            ? `Sun: ${sunText(sun.sun, lawn)}; civil twilight ${sunText(sun.civilTwilight, lawn).replace('sunrise', 'from').replace(', sunset', ' to')}.`
            : 'Sun times need the lawn’s latitude and longitude.'}{' '}
          {hoursInDay !== 24 && `The clocks change on this day: it has ${hoursInDay} hours.`}
        </p>
        {rainSinceSpray && (
          <p>
            Rain since the{' '}
            <Link href={`/sprays/${rainSinceSpray.sprayId}`}>
              spray of {momentText(rainSinceSpray.startedAt, lawn)}
            </Link>
            : {water(rainSinceSpray.rain.rainMm)}
            {rainSinceSpray.rain.hoursUnknown > 0.5 &&
              `, at least (${Math.round(rainSinceSpray.rain.hoursUnknown)} h not known)`}
            .
          </p>
        )}
        <p className="soft">
          A figure of the day is shown only when at most two of its hours are missing.{' '}
          <HowEach to={['eto', 'delta-t', 'sun']} />
        </p>
      </section>
      <section className="sheet">
        <h2>By the hour</h2>
        {hours.length === 0 ? (
          <p>
            No hours of this day in the diary. <Link href="/weather/import">Import a logger’s file</Link>.
          </p>
        ) : (
          <TableHold label="Weather by the hour">
            <table>
              <thead>
                <tr>
                  <th>Hour</th>
                  <th className="number">Air</th>
                  <th className="number">Humidity</th>
                  <th className="number">Dew point</th>
                  <th className="number">VPD</th>
                  <th className="number">Wet bulb</th>
                  <th className="number">Delta T</th>
                  <th className="number">Wind near the ground</th>
                  <th className="number">Rain</th>
                  <th className="number">Sun, W/m²</th>
                  <th className="number">ETo</th>
                  <th>Leaf</th>
                  <th>Source</th>
                </tr>
              </thead>
              <tbody>
                {hours.map(({ hour, ...figures }) => (
                  <tr key={hour.hourStartUtcMs}>
                    <th scope="row">{timeText(hour.hourStart, lawn)}</th>
                    <td className="number">{temp(hour.airTempC)}</td>
                    <td className="number">
                      {hour.relHumidityPercent === null ? '–' : `${significant(hour.relHumidityPercent, 2)} %`}
                    </td>
                    <td className="number">{temp(figures.dewPointC)}</td>
                    <td className="number">
                      {figures.vpdKPa == null ? '–' : showAirPressure(figures.vpdKPa, system).text}
                    </td>
                    <td className="number">{temp(figures.wetBulbC)}</td>
                    <td className="number">
                      {figures.deltaTC == null ? '–' : showTemperatureDifference(figures.deltaTC, system).text}
                    </td>
                    <td className="number">
                      {figures.windAt2mMPerS === null ? '–' : showSpeed(figures.windAt2mMPerS, system).text}
                    </td>
                    <td className="number">{water(hour.rainMm)}</td>
                    <td className="number">{hour.solarWPerM2?.toFixed(0) ?? '–'}</td>
                    <td className="number">
                      {figures.etoMm === null
                        ? '–'
                        : system === 'metric'
                          ? `${fixed(figures.etoMm, 2)} mm`
                          : `${fixed(fromM(figures.etoMm / 1000, 'in').value, 3)} in`}
                    </td>
                    <td>{figures.leafWet === null ? '–' : figures.leafWet ? 'wet' : 'dry'}</td>
                    <td>{hour.source}</td>
                  </tr>
                ))}
              </tbody>
            </table>
          </TableHold>
        )}
      </section>
      <p>
        <Link href={`/weather?from=${date}#window`}>Score this day’s hours for a spray</Link> ·{' '}
        <Link href={`/weather?year=${day.year}#season`}>The season {day.year}</Link>
      </p>
    </>
  );
}

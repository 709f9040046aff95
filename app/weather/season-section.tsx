import { DAY_MS } from '@/lib/units/time';
import Link from 'next/link';
import { How, HowEach } from '@/app/_ui/how';
import { dayText, monthText, readerOf } from '@/lib/units/dates';
import { SeasonChart, type DaySeries } from '@/app/_ui/charts/season-chart';
import { waterText } from '@/app/_ui/weather-text';
import { TableHold } from '@/app/_ui/table-hold';
import type { Lawn } from '@/lib/diary/lawns';
import type { WeatherQuery } from '@/lib/forms/queries/weather-query';
import { showAirPressure, showTemperature } from '@/lib/units/display';
import { fromM } from '@/lib/units/length';
import { fromKPa } from '@/lib/units/pressure';
import { fromC, fromDifferenceC } from '@/lib/units/temperature';
import { LEAF_WETNESS_RULE } from '@/lib/weather/leaf-wetness';
import type { SeasonDay, SeasonWeather } from '@/lib/work/weather/season-weather';

const mean = (values: readonly (number | null)[]): number | null => {
  const known = values.filter((value) => value !== null);
  return known.length === 0 ? null : known.reduce((sum, value) => sum + value, 0) / known.length;
};

/** Sprays within half a day of each other as one line on a season's chart, with all their plots. */
function onePerDay(sprays: SeasonWeather['sprays']): SeasonWeather['sprays'] {
  const lines: SeasonWeather['sprays'] = [];
  for (const spray of sprays) {
    const last = lines.at(-1);
    if (last && spray.atUtcMs - last.atUtcMs < DAY_MS / 2)
      lines[lines.length - 1] = { ...last, label: `${last.label}, ${spray.label}` };
    else lines.push(spray);
  }
  return lines;
}

const total = (list: readonly (number | null)[]) => list.reduce<number>((sum, value) => sum + (value ?? 0), 0);

function Months({ days, lawn }: { days: readonly SeasonDay[]; lawn: Lawn }) {
  const months = new Map<string, SeasonDay[]>();
  for (const day of days) months.set(day.date.slice(0, 7), [...(months.get(day.date.slice(0, 7)) ?? []), day]);
  return (
    <details>
      <summary>By month, as a table</summary>
      <TableHold label="The season by month">
        <table>
          <thead>
            <tr>
              <th>Month</th>
              <th className="number">Mean temperature</th>
              <th className="number">Rain</th>
              <th className="number">ETo</th>
              <th className="number">Mean VPD</th>
              <th className="number">Leaf-wet hours</th>
              <th className="number">Hours known</th>
            </tr>
          </thead>
          <tbody>
            {[...months].map(([month, list]) => {
              const temp = mean(list.map((day) => day.meanTempC));
              const vpd = mean(list.map((day) => day.meanVpdKPa));
              return (
                <tr key={month}>
                  <td>
                    <Link href={`/weather/day/${list[0]?.date}`}>{monthText(month)}</Link>
                  </td>
                  <td className="number">{temp === null ? '–' : showTemperature(temp, lawn.unitSystem).text}</td>
                  <td className="number">{waterText(total(list.map((day) => day.rainMm)), lawn.unitSystem)}</td>
                  <td className="number">
                    {list.every((day) => day.etoMm === null)
                      ? '–'
                      : waterText(total(list.map((day) => day.etoMm)), lawn.unitSystem)}
                  </td>
                  <td className="number">{vpd === null ? '–' : showAirPressure(vpd, lawn.unitSystem).text}</td>
                  <td className="number">{total(list.map((day) => day.leafWetHours))}</td>
                  <td className="number">{total(list.map((day) => day.hoursKnown))}</td>
                </tr>
              );
            })}
          </tbody>
        </table>
      </TableHold>
    </details>
  );
}

function Charts({ season, lawn }: { season: SeasonWeather; lawn: Lawn }) {
  const metric = lawn.unitSystem === 'metric';
  const temp = (value: number | null) => (value === null ? null : metric ? value : fromC(value, 'degF').value);
  const water = (value: number | null) => (value === null ? null : metric ? value : fromM(value / 1000, 'in').value);
  const pressure = (value: number | null) => (value === null ? null : metric ? value : fromKPa(value, 'inHg').value);
  const values = (read: (day: SeasonDay) => number | null) =>
    season.days.map((day) => ({ x: day.noonUtcMs, y: read(day) }));
  const from = (season.days[0]?.noonUtcMs ?? 0) - DAY_MS / 2;
  const to = (season.days.at(-1)?.noonUtcMs ?? 0) + DAY_MS / 2;
  const common = {
    sprays: onePerDay(season.sprays.filter(({ atUtcMs }) => atUtcMs >= from && atUtcMs <= to)).map((spray) => ({
      x: spray.atUtcMs,
      label: spray.label,
      href: `/sprays/${spray.id}`,
    })),
    photos: season.photos
      .filter(({ atUtcMs }) => atUtcMs >= from && atUtcMs <= to)
      .map((photo) => ({
        x: photo.atUtcMs,
        label: `Photo of ${dayText(new Date(photo.atUtcMs), lawn)}`,
        href: `/photos/${photo.id}`,
      })),
    gaps: season.gaps.filter((gap) => gap.hours >= 12).map((gap) => ({ from: gap.fromUtcMs, to: gap.toUtcMs })),
    from,
    to,
    reader: readerOf(lawn),
  };
  const charts: { title: string; yLabel: string; digits: number; series: DaySeries[] }[] = [
    {
      title: 'Temperature',
      yLabel: metric ? 'Air temperature, °C' : 'Air temperature, °F',
      digits: 1,
      series: [
        { name: 'Highest', kind: 'line', tone: 0, values: values((day) => temp(day.maxTempC)), fillTo: 1 },
        { name: 'Lowest', kind: 'line', tone: 1, values: values((day) => temp(day.minTempC)) },
      ],
    },
    {
      title: 'Rain',
      yLabel: metric ? 'Rain a day, mm' : 'Rain a day, in',
      digits: metric ? 1 : 2,
      series: [{ name: 'Rain', kind: 'bars', tone: 1, values: values((day) => water(day.rainMm)) }],
    },
    {
      title: 'Reference evapotranspiration',
      yLabel: metric ? 'ETo a day, mm' : 'ETo a day, in',
      digits: metric ? 1 : 2,
      series: [{ name: 'ETo (FAO-56)', kind: 'line', tone: 2, values: values((day) => water(day.etoMm)) }],
    },
    {
      title: 'Vapour pressure deficit',
      yLabel: metric ? 'VPD, kPa' : 'VPD, inHg',
      digits: 2,
      series: [
        { name: 'Highest of the day', kind: 'line', tone: 0, values: values((day) => pressure(day.maxVpdKPa)) },
        { name: 'Mean of the day', kind: 'line', tone: 3, values: values((day) => pressure(day.meanVpdKPa)) },
      ],
    },
  ];
  return (
    <>
      {charts.map((chart) => (
        <div key={chart.title}>
          <h3>{chart.title}</h3>
          {chart.series.every((entry) => entry.values.every((value) => value.y === null)) ? (
            <p className="soft">
              {chart.title === 'Reference evapotranspiration'
                ? 'Not known: it needs temperature, humidity and wind of the hours, and the lawn’s latitude and longitude.'
                : 'Not measured.'}
            </p>
          ) : (
            <SeasonChart
              {...common}
              yLabel={chart.yLabel}
              digits={chart.digits}
              series={chart.series}
              label={`${chart.title} by day in ${season.year}, with sprays and photos`}
            />
          )}
        </div>
      ))}
    </>
  );
}

/** One year of weather by day, with what was sprayed and photographed, and its sums. */
export function SeasonSection({ season, lawn, query }: { season: SeasonWeather; lawn: Lawn; query: WeatherQuery }) {
  const system = lawn.unitSystem;
  const { degreeDays } = season;
  const degrees = (value: number) =>
    `${Math.round(system === 'metric' ? value : fromDifferenceC(value, 'degF').value).toLocaleString('en-US')} ${system === 'metric' ? '°C·d' : '°F·d'}`;
  const gaps = season.gaps;
  return (
    <section className="sheet" id="season">
      <h2>The season {season.year}</h2>
      <form method="get" action="/weather#season" className="row">
        <label className="row">
          Year{' '}
          <select name="year" defaultValue={season.year} style={{ width: 'auto' }}>
            {season.years.map((year) => (
              <option key={year} value={year}>
                {year}
              </option>
            ))}
          </select>
        </label>
        <label className="row">
          Degree days above{' '}
          <select name="base" defaultValue={query.base} style={{ width: 'auto' }}>
            <option value="warm">{showTemperature(10, system).text}</option>
            <option value="freezing">{showTemperature(0, system).text}</option>
          </select>
        </label>
        <button type="submit" className="button-plain">
          Show
        </button>
        <a className="button" href={`/api/weather/export?lawn=${lawn.id}&year=${season.year}`}>
          Hours of {season.year} as CSV
        </a>
      </form>
      {season.days.length === 0 ? (
        <p>No hours of {season.year} in the diary.</p>
      ) : (
        <>
          <dl className="facts">
            <div>
              <dt>Rain</dt>
              <dd>{waterText(season.rainMm, system)}</dd>
            </div>
            <div>
              <dt>ETo (FAO-56)</dt>
              <dd>{season.etoMm === null ? 'not known' : waterText(season.etoMm, system)}</dd>
            </div>
            <div>
              <dt>Degree days, mean first</dt>
              <dd>{degrees(degreeDays.meanFirst)}</dd>
            </div>
            <div>
              <dt>Degree days, limits first</dt>
              <dd>{degrees(degreeDays.limitsFirst)}</dd>
            </div>
            <div>
              <dt>Leaf-wet hours</dt>
              <dd>{season.leafWet.wet.toLocaleString('en-US')}</dd>
            </div>
            <div>
              <dt>Hours known</dt>
              <dd>{season.hoursKnown.toLocaleString('en-US')}</dd>
            </div>
          </dl>
          <p className="soft">
            Upright lines are sprays with the plots they covered, triangles are photos, shaded spans have no hours. A
            day with more than two hours missing shows no figure.
          </p>
          <Charts season={season} lawn={lawn} />
          {season.sprays.length > 0 && (
            <details>
              <summary>
                {season.sprays.length} {season.sprays.length === 1 ? 'spray' : 'sprays'} on these charts
              </summary>
              <ul>
                {season.sprays.map((spray) => (
                  <li key={spray.id}>
                    <Link href={`/sprays/${spray.id}`}>{dayText(new Date(spray.atUtcMs), lawn)}</Link> {spray.label}
                  </li>
                ))}
              </ul>
            </details>
          )}
          <Months days={season.days} lawn={lawn} />
          <details>
            <summary>
              {gaps.length === 0
                ? 'No gaps'
                : `${gaps.length} ${gaps.length === 1 ? 'gap' : 'gaps'}, ${gaps.reduce((sum, gap) => sum + gap.hours, 0).toLocaleString('en-US')} hours without a temperature`}
            </summary>
            <ul>
              {gaps.slice(0, 200).map((gap) => (
                <li key={gap.fromUtcMs}>
                  {dayText(new Date(gap.fromUtcMs), lawn)}, {gap.hours} h
                </li>
              ))}
            </ul>
            {gaps.length > 200 && <p className="soft">And {gaps.length - 200} more.</p>}
          </details>
          <details>
            <summary>How these are computed</summary>
            <p className="soft">
              Degree days over base {showTemperature(degreeDays.baseC, system).text} from the first hour of the year,{' '}
              {degreeDays.daysCounted} days counted, {degreeDays.daysMissing} without both extremes. Mean first:
              (highest + lowest)/2 less the base, not below 0. Limits first: the lowest is raised to the base and the
              highest lowered to {showTemperature(degreeDays.upperC, system).text} before the mean. The two differ on
              cold mornings. <How to="degree-days" />
            </p>
            <p className="soft">{LEAF_WETNESS_RULE}</p>
            <p className="soft">
              ETo: FAO-56 Penman-Monteith by the hour (eq. 53), summed over the day. VPD: FAO-56 saturation pressure
              (eq. 11) less the vapour pressure. <HowEach to={['eto', 'delta-t']} />
            </p>
          </details>
        </>
      )}
    </section>
  );
}

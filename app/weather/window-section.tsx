import Link from 'next/link';
import { How } from '@/app/_ui/how';
import { dateText, dayKey, hourText, momentText, timeText } from '@/lib/units/dates';
import { AmountField, Field } from '@/app/_ui/field';
import { SensitivityLine } from '@/app/_ui/drying';
import { VerdictWord } from '@/app/_ui/reasons';
import { unitChoices } from '@/app/_ui/unit-choices';
import { dryingText, grassText, minutesText, sunText } from '@/app/_ui/weather-text';
import { TableHold } from '@/app/_ui/table-hold';
import type { Lawn } from '@/lib/diary/lawns';
import type { WeatherQuery } from '@/lib/forms/queries/weather-query';
import { showLiquidRate, showSpeed, showTemperature, significant } from '@/lib/units/display';
import { fromLPerHa } from '@/lib/units/rate';
import type { WeatherHour } from '@/lib/weather/hour';
import { windOfHourAt2mMPerS } from '@/lib/weather/wind';
import { DEFAULT_LIMITS, type Reason } from '@/lib/weather/window-limits';
import type { WindowAhead, WindowAnswer } from '@/lib/work/weather/window-ahead';
import { HourStrip, type StripDay } from './hour-strip';

function airText(hour: WeatherHour | undefined, lawn: Lawn): string {
  if (!hour) return '';
  const windMPerS = windOfHourAt2mMPerS(hour);
  return [
    hour.airTempC !== null && showTemperature(hour.airTempC, lawn.unitSystem).text,
    hour.relHumidityPercent !== null && `${significant(hour.relHumidityPercent, 2)} % humidity`,
    windMPerS !== null && `wind ${showSpeed(windMPerS, lawn.unitSystem).text} at 2 m`,
  ]
    .filter(Boolean)
    .join(', ');
}

function toStrip(
  answer: WindowAhead,
  lawn: Lawn,
): { days: StripDay[]; limits: Record<string, Pick<Reason, 'limit' | 'source'>> } {
  const hours = new Map(answer.hours.map((hour) => [hour.hourStartUtcMs, hour]));
  const limits: Record<string, Pick<Reason, 'limit' | 'source'>> = {};
  const days = answer.days.map(({ date, sun }): StripDay => ({
    date,
    title: dateText(date, lawn),
    sun: sunText(sun.sun, lawn),
    hours: answer.scores
      .filter((score) => dayKey(new Date(score.startUtcMs), lawn.timeZone) === date)
      .map((score) => {
        for (const { topic, limit, source } of score.reasons) limits[topic] ??= { limit, source };
        return {
          startUtcMs: score.startUtcMs,
          hour: hourText(score.startUtcMs, lawn),
          moment: momentText(new Date(score.startUtcMs), lawn),
          verdict: score.verdict,
          points: score.points,
          drying: dryingText(score.drying),
          air: airText(hours.get(score.startUtcMs), lawn),
          reasons: score.reasons.map(({ topic, verdict, sentence }) => ({ topic, verdict, sentence })),
        };
      }),
  }));
  return { days, limits };
}

const cellClass = (kind: string, minutes: number | null) => {
  if (kind === 'rained-on' || (minutes !== null && minutes < DEFAULT_LIMITS.leastWetMin)) return 'is-unsuitable';
  if (
    kind === 'does-not-dry' ||
    (minutes !== null && (minutes < DEFAULT_LIMITS.goodWetMin || minutes > DEFAULT_LIMITS.longestWetMin))
  )
    return 'is-doubtful';
  return kind === 'dries' ? 'is-suitable' : '';
};

function Grid({ answer, lawn }: { answer: WindowAhead; lawn: Lawn }) {
  return (
    <details>
      <summary>Drying time by hour and carrier volume</summary>
      <p className="soft">
        How long the film would stay wet, for a spray that starts on the hour. Green: {DEFAULT_LIMITS.goodWetMin} min or
        more; red: under {DEFAULT_LIMITS.leastWetMin} min, or rained on.
      </p>
      <TableHold label="Drying time by hour and carrier volume">
        <table>
          <thead>
            <tr>
              <th>Start</th>
              {answer.grid.carriersLPerHa.map((carrier) => (
                <th key={carrier} className="number">
                  {showLiquidRate(carrier, lawn.unitSystem).text}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {answer.grid.startsUtcMs.map((start, row) => (
              <tr key={start}>
                <th scope="row">{timeText(new Date(start), lawn)}</th>
                {answer.grid.cells[row]?.map((cell, column) => (
                  <td
                    key={answer.grid.carriersLPerHa[column]}
                    className={`number ${cellClass(cell.kind, cell.minutes)}`}
                  >
                    {dryingText(cell)}
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </TableHold>
    </details>
  );
}

function Question({ lawn, query, carrierLPerHa }: { lawn: Lawn; query: WeatherQuery; carrierLPerHa: number }) {
  const units = unitChoices('carrier', lawn.unitSystem);
  const unit = query.carrier?.unit ?? (lawn.unitSystem === 'metric' ? 'L/100m2' : 'us-gal/1000ft2');
  return (
    <details>
      <summary>Change the film, the time the work takes, or look at another day</summary>
      <form className="stack" method="get" action="/weather">
        <div className="fields">
          <AmountField
            name="carrier"
            label="Carrier volume"
            units={units}
            defaultValue={query.carrier?.value ?? Number(fromLPerHa(carrierLPerHa, unit).value.toPrecision(3))}
            defaultUnit={unit}
          />
          <Field
            name="leaf"
            label="Wetted leaf area, times the ground"
            numeric
            defaultValue={query.leafAreaM2PerM2}
            hint="1 shares the liquid over as much leaf as there is ground; more leaf, thinner film."
          />
          <Field name="minutes" label="Time the work takes, min" numeric defaultValue={query.workMinutes} />
          <Field name="from" label="From day" type="date" defaultValue={query.from} hint="Left empty: from now." />
        </div>
        <div className="row">
          <button type="submit">Score the hours</button>
        </div>
      </form>
    </details>
  );
}

/** The coming 48 hours, each with its reasons; best windows named. */
export function WindowSection({
  answer,
  lawn,
  query,
  carrierLPerHa,
}: {
  answer: WindowAnswer;
  lawn: Lawn;
  query: WeatherQuery;
  carrierLPerHa: number;
}) {
  const title = query.from ? `Hours from ${dateText(query.from, lawn)}` : 'When to spray: the coming 48 hours';
  if (answer.kind !== 'scored') {
    return (
      <section className="sheet" id="window">
        <h2>{title}</h2>
        {answer.kind === 'no-place' ? (
          <p>
            Scoring hours needs the sun, and the sun needs the lawn’s latitude and longitude:{' '}
            <Link href="/lawn">fill them in</Link>.
          </p>
        ) : (
          <p>
            {query.from ? 'The diary has no hours of that day.' : 'No hours ahead are known.'}{' '}
            <a href="#typed">Type a forecast</a> or turn on <a href="#service">a weather service</a> for the hours to
            come, or look at a day the diary has hours of.
          </p>
        )}
        <Question lawn={lawn} query={query} carrierLPerHa={carrierLPerHa} />
      </section>
    );
  }
  const { days, limits } = toStrip(answer, lawn);
  return (
    <section className="sheet" id="window">
      <h2>{title}</h2>
      {answer.windows.length === 0 ? (
        <p className="notice">No window of {query.workMinutes} min: every hour known ahead has something against it.</p>
      ) : (
        <ol>
          {answer.windows.map((window) => (
            <li key={window.startUtcMs}>
              <strong>
                {momentText(new Date(window.startUtcMs), lawn)} to {timeText(new Date(window.endUtcMs), lawn)}
              </strong>
              , {window.name} <VerdictWord verdict={window.verdict} />{' '}
              <span className="soft">{window.points.toFixed(0)} of 100 points</span>
            </li>
          ))}
        </ol>
      )}
      <HourStrip
        key={`${days[0]?.hours[0]?.startUtcMs} ${answer.film.carrierLPerHa}`}
        days={days}
        limits={limits}
        picked={answer.windows[0]?.startUtcMs ?? null}
      />
      {answer.sensitivity && (
        <>
          <h3>
            Drying at {momentText(new Date(answer.sensitivity.startUtcMs), lawn)}
            {answer.sensitivity.minutes !== null && `: about ${minutesText(answer.sensitivity.minutes)}`}
          </h3>
          <SensitivityLine lines={answer.sensitivity.lines} system={lawn.unitSystem} />
        </>
      )}
      <Grid answer={answer} lawn={lawn} />
      <Question lawn={lawn} query={query} carrierLPerHa={carrierLPerHa} />
      <p className="soft">
        Film: {showLiquidRate(answer.film.carrierLPerHa, lawn.unitSystem).text} over leaf area{' '}
        {significant(answer.film.wettedLeafAreaM2PerM2)}, grass {grassText(answer.film.canopyHeightM, lawn.unitSystem)}.
        The label’s own limits win over these. <How to="window" />
        {answer.assumed.length > 0 && ` Assumed: ${answer.assumed.join('; ')}.`}
      </p>
    </section>
  );
}

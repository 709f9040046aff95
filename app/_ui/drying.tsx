import { How } from './how';
import {
  showAirPressure,
  showFilm,
  showLiquidRate,
  showSpeed,
  showTemperature,
  significant,
  type UnitSystem,
} from '@/lib/units/display';
import { fromDifferenceC } from '@/lib/units/temperature';
import { fromM } from '@/lib/units/length';
import { fromMPerS } from '@/lib/units/speed';
import type { DryingResult, DryingSensitivity, FilmPlan } from '@/lib/weather/drying';
import { timeText, type Reader } from '@/lib/units/dates';
import { grassText, minutesText } from './weather-text';
import { asRead } from '@/lib/units/quantity';

const inputNames: Record<DryingSensitivity['input'], string> = {
  carrier: 'carrier volume',
  wettedLeafArea: 'wetted leaf area',
  airTemp: 'temperature',
  relHumidity: 'humidity',
  wind: 'wind',
  solar: 'sun',
};

/** The change in the reader's units: the model changes temperature by 2 °C and wind by 1 m/s. */
function changeText(line: DryingSensitivity, system: UnitSystem): string {
  if (system === 'us-customary' && line.input === 'airTemp')
    return `+${significant(fromDifferenceC(2, 'degF').value, 2)} °F`;
  if (system === 'us-customary' && line.input === 'wind') return `+${significant(fromMPerS(1, 'mph').value, 2)} mph`;
  return line.change;
}

/** Water that leaves in an hour: mm, or thousandths of an inch where inches are read. */
const evaporationText = (mmPerH: number, system: UnitSystem): string =>
  system === 'metric' ? `${mmPerH.toFixed(2)} mm/h` : `${fromM(mmPerH / 1000, 'in').value.toFixed(3)} in/h`;

/** One line: what the drying time would be with one input changed. */
export function SensitivityLine({ lines, system }: { lines: readonly DryingSensitivity[]; system: UnitSystem }) {
  return (
    <p className="soft">
      Changed alone:{' '}
      {lines
        .filter((line) => line.minutes !== null)
        .map((line) => `${inputNames[line.input]} ${changeText(line, system)} → ${minutesText(line.minutes ?? 0)}`)
        .join(' · ') || 'with no input changed alone does the film dry within a day'}
      .
    </p>
  );
}

/** Drying time of a film with everything it was computed from. An estimate, and says so. */
export function Drying({
  result,
  film,
  sensitivity,
  system,
  reader,
  assumed,
}: {
  result: DryingResult;
  film: Omit<FilmPlan, 'startUtcMs'>;
  sensitivity: readonly DryingSensitivity[] | null;
  system: UnitSystem;
  reader: Reader;
  assumed: readonly string[];
}) {
  const [first] = result.steps;
  const allAssumed = [...assumed, ...result.assumed];
  return (
    <>
      <p>
        {result.kind === 'dries' && (
          <>
            About <strong>{minutesText(result.minutes)}</strong> until the film is dry on the leaf, at{' '}
            {timeText(new Date(result.driesAtUtcMs), reader)}.
          </>
        )}
        {result.kind === 'does-not-dry' && (
          <>
            The film <strong>stays wet</strong> until at least {timeText(new Date(result.byUtcMs), reader)}: dew or
            still, damp air.
          </>
        )}
        {result.kind === 'rained-on' && (
          <>
            <strong>Rain</strong> reaches the film after {minutesText(result.minutes)}, before it was dry.
          </>
        )}
        {result.kind === 'unknown' && (
          <>
            Drying time <strong>not known</strong>: the hour from {timeText(new Date(result.hourStartUtcMs), reader)}{' '}
            lacks figures it needs.
          </>
        )}
      </p>
      <dl className="facts">
        <div>
          <dt>Carrier volume</dt>
          <dd>{showLiquidRate(film.carrierLPerHa, system).text}</dd>
        </div>
        <div>
          <dt>Film, over {significant(film.wettedLeafAreaM2PerM2)} × the ground in leaf</dt>
          <dd>{showFilm(result.filmMm, system).text}</dd>
        </div>
        <div>
          <dt>Grass height</dt>
          <dd>{grassText(film.canopyHeightM, system)}</dd>
        </div>
        {first && (
          <>
            <div>
              <dt>Air at the start</dt>
              <dd>
                {showTemperature(first.airTempC, system).text}, {significant(first.relHumidityPercent)} %
              </dd>
            </div>
            <div>
              <dt>Vapour pressure deficit</dt>
              <dd>{showAirPressure(first.vpdKPa, system).text}</dd>
            </div>
            <div>
              <dt>Wind near the ground</dt>
              <dd>{showSpeed(first.windAt2m, system).text}</dd>
            </div>
            <div>
              <dt>Sun / net radiation</dt>
              <dd>
                {first.solarWPerM2.toFixed(0)} / {first.netRadiationWPerM2.toFixed(0)} W/m²
              </dd>
            </div>
            <div>
              <dt>Evaporation</dt>
              <dd>{evaporationText(first.rateMmPerH, system)}</dd>
            </div>
          </>
        )}
      </dl>
      {sensitivity && result.kind === 'dries' && <SensitivityLine lines={sensitivity} system={system} />}
      <p className="soft">
        An estimate for comparing hours and volumes: the energy balance of a wet leaf (FAO-56 eq. 3 with surface
        resistance 0, with the leaf’s own temperature), hour by hour. <How to="drying" />{' '}
        {allAssumed.length > 0 && `Assumed: ${asRead(allAssumed.join('; '), system)}.`}
        {result.extrapolated && ' Outside what the model was made for.'}
      </p>
    </>
  );
}

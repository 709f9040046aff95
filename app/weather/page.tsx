import type { Metadata } from 'next';
import Link from 'next/link';
import { currentLawn } from '@/app/_ui/current-lawn';
import { listSprayers } from '@/lib/diary/sprayers';
import { countServiceHours } from '@/lib/diary/weather-hours';
import { readWeatherQuery } from '@/lib/forms/queries/weather-query';
import { lastOutcome, readForecast, serviceSettings } from '@/lib/work/weather/ask-weather-service';
import { instantOfLocal } from '@/lib/work/diary/lawn-time';
import { USUAL_CARRIER_L_PER_HA } from '@/lib/work/weather/lawn-weather';
import { seasonWeather } from '@/lib/work/weather/season-weather';
import { listWeatherImports } from '@/lib/work/weather/take-weather-file';
import { typedForecast } from '@/lib/work/weather/typed-forecast';
import { windowAhead } from '@/lib/work/weather/window-ahead';
import { SeasonSection } from './season-section';
import { ImportsSection, ServiceSection } from './sources-section';
import { TypedForecastSection } from './typed-forecast-section';
import { WindowSection } from './window-section';
import { Rights } from '@/app/_ui/rights';

export const metadata: Metadata = { title: 'Weather' };

const bases = { warm: { baseC: 10, upperC: 30 }, freezing: { baseC: 0, upperC: 30 } } as const;
/** Half, one, two and four gallons per 1000 ft²; two to sixteen litres per 100 m². */
const gridCarriers = { 'us-customary': [203.7, 407.5, 814.9, 1629.8], metric: [200, 400, 800, 1600] } as const;

export default async function WeatherPage({
  searchParams,
}: {
  searchParams: Promise<Record<string, string | string[] | undefined>>;
}) {
  const lawn = await currentLawn();
  if (!lawn) {
    return (
      <div className="teach">
        <h1>Weather</h1>
        <p>
          This page says when to spray and what the weather did to each spray. It needs a lawn first:{' '}
          <Link href="/lawn">set up your lawn</Link>.
        </p>
      </div>
    );
  }
  const query = readWeatherQuery(await searchParams);
  const now = new Date();
  const [sprayers, settings, forecast, outcome, imports, serviceHours, season, typed] = await Promise.all([
    listSprayers(lawn.id),
    serviceSettings(),
    readForecast(lawn.id),
    lastOutcome(lawn.id),
    listWeatherImports(lawn.id),
    countServiceHours(lawn.id),
    seasonWeather(lawn, query.year, bases[query.base], now),
    typedForecast(lawn.id),
  ]);
  const carrierLPerHa =
    query.carrierLPerHa ?? sprayers.find((sprayer) => sprayer.carrierLPerHa !== null)?.carrierLPerHa ?? null;
  const from = query.from ? instantOfLocal(`${query.from}T00:00`, lawn.timeZone) : now;
  const window = await windowAhead(
    lawn,
    {
      carrierLPerHa,
      wettedLeafAreaM2PerM2: query.leafAreaM2PerM2,
      workMinutes: query.workMinutes,
      gridCarriersLPerHa: gridCarriers[lawn.unitSystem],
    },
    from,
  );
  return (
    <>
      <Rights lawnId={lawn.id} />
      <div className="row row-end">
        <h1>Weather</h1>
        <nav className="row" aria-label="On this page">
          <a className="chip" href="#window">
            When to spray
          </a>
          <a className="chip" href="#season">
            Season
          </a>
          <a className="chip" href="#files">
            Files
          </a>
          <a className="chip" href="#service">
            Service
          </a>
        </nav>
      </div>
      <WindowSection
        answer={window}
        lawn={lawn}
        query={query}
        carrierLPerHa={carrierLPerHa ?? USUAL_CARRIER_L_PER_HA}
      />
      <TypedForecastSection lawn={lawn} kept={typed} />
      {season.years.length > 0 && <SeasonSection season={season} lawn={lawn} query={query} />}
      <ImportsSection lawn={lawn} imports={imports} />
      <ServiceSection
        lawn={lawn}
        settings={settings}
        fetchedAtUtcMs={forecast?.fetchedAtUtcMs ?? null}
        outcome={outcome}
        serviceHours={serviceHours}
        now={now}
      />
    </>
  );
}

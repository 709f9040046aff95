import { DAY_MS, HOUR_MS } from '@/lib/units/time';
import { seededRandom } from '@/lib/stats/random';
import type { WeatherPlace } from '@/lib/weather/hour';
import { relHumidityFromDewPoint } from '@/lib/weather/humidity';
import { sunPosition } from '@/lib/weather/sun-position';

/** One hour of the demo's invented weather; `hourStart` is its beginning, an ISO instant in UTC. */
export interface DemoWeatherHour {
  readonly hourStart: string;
  readonly airTempC: number;
  readonly relHumidityPercent: number;
  readonly windMPerS: number;
  readonly gustMPerS: number;
  readonly windFromDeg: number;
  readonly rainMm: number;
  readonly solarWPerM2: number;
  readonly pressureKPa: number;
}

/** What is laid down about a day before chance has its say: the days of sprays and photos must fit the story. */
export interface DayWish {
  readonly cloud?: number;
  readonly dry?: boolean;
  readonly warmerByC?: number;
  readonly dewPointC?: number;
  readonly windMPerS?: number;
}

/** The demo's place and its clock, which keeps one offset. */
interface DemoPlace extends WeatherPlace {
  readonly utcOffsetMinutes: number;
}

interface Day {
  readonly meanC: number;
  readonly halfSwingC: number;
  readonly dewC: number;
  readonly cloud: number;
  readonly windMPerS: number;
  readonly windFromDeg: number;
  readonly pressureKPa: number;
  readonly rain: { readonly fromHour: number; readonly hours: number; readonly totalMm: number } | null;
}

/**
 * Every hour from local midnight of `firstDay` to the end of `lastDay`, without a gap.
 * @param wishes by local date, YYYY-MM-DD
 */
export function demoWeather(
  place: DemoPlace,
  firstDay: string,
  lastDay: string,
  wishes: Readonly<Record<string, DayWish>>,
  seed: number,
): DemoWeatherHour[] {
  const startMs = Date.parse(`${firstDay}T00:00:00Z`);
  const days = Math.round((Date.parse(`${lastDay}T00:00:00Z`) - startMs) / DAY_MS) + 1;
  const random = seededRandom(seed);
  const drawn = drawDays(
    days,
    (day) => wishes[new Date(startMs + day * DAY_MS).toISOString().slice(0, 10)] ?? {},
    place,
    random,
  );
  const hours: DemoWeatherHour[] = [];
  let shiftC = 0;
  let gustiness = 1;
  for (let hour = 0; hour < days * 24; hour++) {
    shiftC = 0.8 * shiftC + 0.25 * random.normal();
    gustiness = 0.7 * gustiness + 0.3 * (1 + 0.25 * random.normal());
    const utcMs = startMs + hour * HOUR_MS - place.utcOffsetMinutes * 60_000;
    hours.push(oneHour(utcMs, hour, drawn, place, shiftC, Math.max(0.5, gustiness)));
  }
  return hours;
}

function drawDays(
  count: number,
  wishFor: (day: number) => DayWish,
  place: DemoPlace,
  random: ReturnType<typeof seededRandom>,
): Day[] {
  const days: Day[] = [];
  let [spell, cover, pressure] = [0, 0.4, 0];
  const levelKPa = 101.325 * (1 - (0.0065 * place.elevationM) / 293) ** 5.26; // FAO-56 eq. 7, near enough for an invented barometer
  for (let day = 0; day < count; day++) {
    const wish = wishFor(day);
    spell = 0.7 * spell + 1.3 * random.normal();
    cover = clamp(0.45 + 0.6 * (cover - 0.45) + 0.22 * random.normal(), 0.05, 0.95);
    pressure = 0.7 * pressure + 0.3 * random.normal();
    const [rainChance, rainStart, rainLength, rainSize] = [random.next(), random.next(), random.next(), random.next()];
    const [windSize, windTurn] = [random.normal(), random.normal()];
    const cloud = wish.cloud ?? cover;
    const rainy = !wish.dry && rainChance < 1.9 * (cloud - 0.15);
    const meanC = 11.5 + 0.14 * day + spell + (wish.warmerByC ?? 0);
    const halfSwingC = 6.8 - 4 * cloud;
    days.push({
      meanC,
      halfSwingC,
      cloud: rainy ? Math.max(cloud, 0.7) : cloud,
      dewC: wish.dewPointC ?? meanC - halfSwingC - 1.2 + 2.5 * cloud,
      windMPerS: wish.windMPerS ?? clamp(1.9 + 0.6 * windSize + 0.6 * cloud, 0.6, 5),
      windFromDeg: ((((rainy ? 210 : 95) + 30 * windTurn) % 360) + 360) % 360,
      pressureKPa: levelKPa + pressure - (rainy ? 0.6 : 0),
      rain: rainy
        ? {
            fromHour: Math.floor(rainStart * 18),
            hours: 2 + Math.floor(rainLength * 6),
            totalMm: 1 + 11 * rainSize ** 2,
          }
        : null,
    });
  }
  return days;
}

function oneHour(
  utcMs: number,
  hour: number,
  days: readonly Day[],
  place: DemoPlace,
  shiftC: number,
  gustiness: number,
): DemoWeatherHour {
  const index = Math.floor(hour / 24);
  const hourOfDay = hour % 24;
  const today = days[index] as Day;
  const between = (pick: (day: Day) => number) => acrossMidnight(hour, days, pick);
  // warmest about 15:30, coolest about 05:00 local: two half cosines
  const clock = hourOfDay + 0.5;
  const warming = clock >= 5 && clock <= 15.5;
  const phase = warming ? (clock - 5) / 10.5 : (clock < 5 ? clock + 8.5 : clock - 15.5) / 13.5;
  const swing = warming ? -Math.cos(Math.PI * phase) : Math.cos(Math.PI * phase);
  const wet =
    today.rain !== null && hourOfDay >= today.rain.fromHour && hourOfDay < today.rain.fromHour + today.rain.hours;
  const airTempC = between((d) => d.meanC) + between((d) => d.halfSwingC) * swing + shiftC - (wet ? 1.2 : 0);
  const dewC = wet
    ? airTempC - 0.6
    : Math.min(
        between((d) => d.dewC),
        airTempC - 0.2,
      );
  const sunHeight = Math.sin(
    (Math.max(0, sunPosition(utcMs + HOUR_MS / 2, place.latitudeDeg, place.longitudeDeg).altitudeDeg) * Math.PI) / 180,
  );
  const clear = 1361 * sunHeight * 0.76 ** (1 / Math.max(0.05, sunHeight)) * 1.03;
  const windMPerS = between((d) => d.windMPerS) * (0.75 + 0.35 * Math.max(0, swing)) * gustiness;
  return {
    hourStart: new Date(utcMs).toISOString(),
    airTempC: rounded(airTempC, 1),
    relHumidityPercent: rounded(relHumidityFromDewPoint(airTempC, dewC).relHumidityPercent, 0),
    windMPerS: rounded(windMPerS, 1),
    gustMPerS: rounded(windMPerS * 1.6 + 0.4, 1),
    windFromDeg: rounded((today.windFromDeg + 12 * shiftC + 360) % 360, 0) % 360,
    rainMm:
      wet && today.rain ? rounded(today.rain.totalMm * bell(hourOfDay - today.rain.fromHour, today.rain.hours), 1) : 0,
    solarWPerM2: rounded(clear * (1 - 0.72 * (wet ? 0.97 : today.cloud) ** 1.8), 0),
    pressureKPa: rounded(
      between((d) => d.pressureKPa),
      2,
    ),
  };
}

/** A daily value carried smoothly from noon to noon. */
function acrossMidnight(hour: number, days: readonly Day[], pick: (day: Day) => number): number {
  const position = (hour + 0.5) / 24 - 0.5;
  const before = Math.max(0, Math.floor(position));
  const after = Math.min(days.length - 1, before + 1);
  const t = Math.min(1, Math.max(0, position - before));
  const late = t < 0.3 ? 0 : t > 0.7 ? 1 : (t - 0.3) / 0.4;
  return pick(days[before] as Day) * (1 - late) + pick(days[after] as Day) * late;
}

/** The share of a shower that falls in each of its hours: most in the middle, in all 1. */
function bell(hour: number, hours: number): number {
  const weight = (h: number) => Math.sin((Math.PI * (h + 0.5)) / hours);
  let all = 0;
  for (let h = 0; h < hours; h++) all += weight(h);
  return weight(hour) / all;
}

function clamp(value: number, low: number, high: number): number {
  return Math.min(high, Math.max(low, value));
}

function rounded(value: number, digits: number): number {
  return Number(value.toFixed(digits));
}

import { COMMON_PRACTICE } from '@/lib/units/common-practice';
import { significant } from '@/lib/units/display';
import { DELTA_T_SOURCE } from '@/lib/weather/delta-t';
import { LEAF_WETNESS_RULE } from '@/lib/weather/leaf-wetness';
import { PSYCHROMETER_PER_C } from '@/lib/weather/pressure';
import { GRASS_ALBEDO } from '@/lib/weather/radiation';
import { DAY_CURVE } from '@/lib/weather/typed-forecast';
import { DEFAULT_LIMITS } from '@/lib/weather/window-limits';
import { LEAST_WIND_AT_2M_M_PER_S } from '@/lib/weather/wind';
import { Method } from './method';

/** Everything that comes out of weather hours. */
export function WeatherMethods() {
  const l = DEFAULT_LIMITS;
  return (
    <>
      <h2>From the weather</h2>
      <Method
        id="drying"
        formulas={[
          'film depth = carrier volume / wetted leaf area',
          'rate = [ Δ (Rn − G) + 3600 ρ cp VPD / ra ] / (Δ + γ) / λ',
          'ra = aerodynamic resistance of the grass, rs = 0',
        ]}
        parameters={[['Least wind at 2 m', `${LEAST_WIND_AT_2M_M_PER_S} m/s`]]}
        sources={[
          'Allen et al. 1998, FAO Irrigation and Drainage Paper 56, eq. 3 (surface resistance 0), 4, 8, 47, box 4',
        ]}
      >
        <p>
          Evaporation of a wet canopy, added up hour by hour until the film is gone; dew adds to it, rain ends it. Each
          hour the leaf is as warm as makes heat taken up equal heat given off, its own heat radiation included; so dew
          forms only where the leaf is below the dew point. An estimate for comparing hours and volumes: droplets drying
          at their rims, leaves shading each other and salts that hold water are left out. It never says how much was
          taken up.
        </p>
      </Method>
      <Method
        id="delta-t"
        formulas={[
          'e°(T) = 0.6108 exp( 17.27 T / (T + 237.3) )',
          'VPD = e°(T) × (1 − RH/100)',
          'Delta T = air temperature − wet bulb',
        ]}
        parameters={[['Psychrometer, aspirated', `${PSYCHROMETER_PER_C.aspirated} /°C`]]}
        sources={['FAO-56 eq. 11, 15, 16, 54', DELTA_T_SOURCE]}
      >
        <p>
          The wet bulb is the root of the psychrometer equation at the place’s pressure. Below 2 °C of Delta T droplets
          live long and may drift in an inversion; above 10 °C they dry in the air.
        </p>
      </Method>
      <Method
        id="typed-forecast"
        formulas={[
          'day: T = low + (high − low) sin( π (h − c) / (Y + 2 (a − c)) )',
          'night: T = low + (T at sunset − low) e^(−b n / Z), stretched to end at the low',
        ]}
        parameters={[
          ['a, maximum after noon', `${DAY_CURVE.maxLagH} h`],
          ['b, decay over the night', DAY_CURVE.nightDecay],
          ['c, minimum after sunrise', `${DAY_CURVE.minLagH} h`],
        ]}
        sources={[
          'Parton & Logan 1981, Agricultural Meteorology 23:205–216 (air at 1.5 m)',
          'dew point held from sunset on: common practice, no source',
        ]}
      >
        <p>
          Hours between the typed low and high, h hours after sunrise on a day of Y hours, n hours after sunset of a
          night of Z. Rain is spread evenly over its part of the day; wind counts as measured at 10 m. What is not typed
          stays unknown.
        </p>
      </Method>
      <Method
        id="eto"
        formulas={['ETo(hour) = [ 0.408 Δ (Rn − G) + γ · 37/(T + 273) · u₂ · VPD ] / [ Δ + γ (1 + 0.34 u₂) ]']}
        parameters={[['Albedo of grass', GRASS_ALBEDO]]}
        sources={['FAO-56 eq. 53 (hourly), 6 (daily), 37 to 40 (net radiation), 45 and 46 (soil)']}
      >
        <p>
          Water that well-watered reference grass would use. Where radiation or pressure wasn’t measured it is estimated
          from the sun’s height and the elevation, and the estimate is named.
        </p>
      </Method>
      <Method
        id="degree-days"
        formulas={[
          'mean-first: max(0, (Tmax + Tmin)/2 − base)',
          'limits-first: both held between base and upper limit, then (Tmax + Tmin)/2 − base',
        ]}
        sources={['Iowa State University, Agronomy 541 (limits-first)', 'mean-first: extension practice']}
      >
        <p>
          Two conventions that differ on days whose lowest temperature lies below the base. The page names the one it
          used; days without both extremes add nothing and are counted.
        </p>
      </Method>
      <Method
        id="sun"
        sources={[
          'Meeus, Astronomical Algorithms, 2nd ed., ch. 7, 12, 13, 16, 25 (to about 0.02°)',
          'rise and set: suncalc, checked against the same',
        ]}
      >
        <p>Height and direction of the sun over the lawn’s place. Needs the lawn’s latitude and longitude.</p>
      </Method>
      <Method
        id="window"
        parameters={[
          ['Film wet, least', `${l.leastWetMin} min`],
          ['Film wet, good', `${l.goodWetMin} min`],
          ['Film wet, longest', `${l.longestWetMin / 60} h`],
          [
            'Wind',
            `${significant(l.calmMPerS)}–${significant(l.goodWindMPerS)} m/s, at most ${significant(l.mostWindMPerS)}`,
          ],
          [
            'Temperature',
            `${significant(l.goodMinTempC)}–${significant(l.goodMaxTempC)} °C, never outside ${significant(l.leastTempC)}–${significant(l.mostTempC)}`,
          ],
          ['Rain', `${l.rainMm} mm within ${l.rainUnsuitableHours} h unsuitable, ${l.rainDoubtfulHours} h doubtful`],
        ]}
        sources={[
          'wind 3 to 8 mph where the label says nothing: pesticidestewardship.org',
          'rain: Henning, Mulvaney & Branham 2013, Crop Sci',
          `minutes and temperatures: ${COMMON_PRACTICE}`,
        ]}
      >
        <p>
          Each hour is judged by every reason, and the worst one names it: suitable, doubtful, unsuitable, or unknown
          where a figure is missing. {LEAF_WETNESS_RULE}
        </p>
      </Method>
    </>
  );
}

import { ActionForm } from '@/app/_ui/action-form';
import { How } from '@/app/_ui/how';
import { AmountField, Choose, Field } from '@/app/_ui/field';
import type { Lawn } from '@/lib/diary/lawns';
import type { KeptForecast } from '@/lib/forms/weather/typed-forecast-form';
import { momentText } from '@/lib/units/dates';
import { unitLabel } from '@/lib/units/display';
import { FORECAST_PARTS, type ForecastPart } from '@/lib/weather/typed-forecast';
import { forgetTypedForecast, saveTypedForecast } from './actions';

const PARTS: Record<ForecastPart, string> = {
  evening: 'Evening, from 6',
  night: 'Night',
  morning: 'Morning, from 6',
  afternoon: 'Afternoon',
};
const choices = (units: readonly string[]) => units.map((unit) => ({ value: unit, label: unitLabel(unit) }));

/**
 * A forecast read off somewhere, for the coming night and day: what a window needs where neither logger nor service
 * says anything.
 */
export function TypedForecastSection({ lawn, kept }: { lawn: Lawn; kept: KeptForecast | null }) {
  const metric = lawn.unitSystem === 'metric';
  const units = {
    temperature: choices(metric ? ['degC', 'degF'] : ['degF', 'degC']),
    wind: choices(metric ? ['m/s', 'km/h'] : ['mph', 'm/s']),
    rain: choices(metric ? ['mm', 'in'] : ['in', 'mm']),
  };
  const was = (name: string) => kept?.entered[name];
  const amount = (name: string, label: string, of: keyof typeof units, hint?: string) => (
    <AmountField
      name={name}
      label={label}
      hint={hint}
      units={units[of]}
      defaultValue={was(`${name}.value`)}
      defaultUnit={was(`${name}.unit`)}
    />
  );
  return (
    <details className="sheet" id="typed" open={kept !== null || undefined}>
      <summary>Type a forecast for the coming night{kept ? `: typed ${momentText(kept.typedAtMs, lawn)}` : ''}</summary>
      <p className="soft">
        As any forecast gives it. Hours between are drawn from the low and the high (Parton and Logan 1981) with the dew
        point held; a logger’s hours stand before it, and it before a service’s. <How to="typed-forecast" />
        {(lawn.latitudeDeg === null || lawn.longitudeDeg === null) &&
          ' It needs the lawn’s place, for sunrise and sunset.'}
      </p>
      <ActionForm action={saveTypedForecast.bind(null, lawn.id)} submit="Keep the forecast">
        <div className="fields">
          {amount('high', 'High today', 'temperature')}
          {amount('low', 'Low tonight', 'temperature')}
          {amount('nextHigh', 'High tomorrow', 'temperature', 'Empty: as today')}
          <Field name="humidity" label="Humidity at sunset, %" numeric defaultValue={was('humidity')} required />
          <Choose
            name="sky"
            label="Sky"
            choices={['clear', 'some cloud', 'overcast'].map((value) => ({ value, label: value }))}
            defaultValue={was('sky')}
          />
        </div>
        {FORECAST_PARTS.map((part) => (
          <fieldset key={part} className="forecast-part">
            <legend>{PARTS[part]}</legend>
            <div className="fields">
              {amount(`parts.${part}.wind`, 'Wind', 'wind')}
              {amount(`parts.${part}.rain`, 'Rain', 'rain')}
            </div>
          </fieldset>
        ))}
      </ActionForm>
      {kept && (
        <form action={forgetTypedForecast.bind(null, lawn.id)} style={{ marginTop: '0.75rem' }}>
          <button type="submit" className="button-warn">
            Forget it
          </button>
        </form>
      )}
    </details>
  );
}

'use server';
import { revalidatePath } from 'next/cache';
import { removeServiceHours } from '@/lib/diary/weather-hours';
import { expectCall } from '@/lib/forms/action-call';
import { parseForm } from '@/lib/forms/fields';
import { enteredOf, TypedForecastForm } from '@/lib/forms/weather/typed-forecast-form';
import type { FormResult } from '@/lib/forms/result';
import { ServiceLookForm, WeatherServiceForm } from '@/lib/forms/weather/weather-service';
import { saveServiceSettings } from '@/lib/work/weather/ask-weather-service';
import { lookAtAnswer, type AnswerLook } from '@/lib/work/photos/look-at-answer';
import { attachWeather } from '@/lib/work/weather/spray-weather';
import { dropTypedForecast, keepTypedForecast } from '@/lib/work/weather/typed-forecast';
import { undoWeatherImport } from '@/lib/work/weather/take-weather-file';
import { expectRight } from '@/lib/work/people/rights';

const wrong = (message: string): FormResult => ({ ok: false, message, errors: {} });

export async function saveService(_previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ form: data });
  await expectRight('keeps', 'diary');
  const parsed = parseForm(WeatherServiceForm, data);
  if (!parsed.ok) return parsed;
  await saveServiceSettings(parsed.value);
  revalidatePath('/weather');
  return {
    ok: true,
    message: parsed.value.enabled
      ? 'Saved. The service is asked when you open this page, or by the button.'
      : 'Saved. The service is off: nothing is asked of anyone.',
  };
}

export async function undoImport(
  lawnId: string,
  importId: string,
  _previous: FormResult,
  data: FormData,
): Promise<FormResult> {
  expectCall({ ids: [lawnId, importId], form: data });
  await expectRight('keeps', { lawn: lawnId, weatherImport: importId });
  const undone = await undoWeatherImport(lawnId, importId);
  revalidatePath('/', 'layout');
  return undone.ok ? { ok: true, message: undone.message } : wrong(undone.message);
}

export async function dropServiceHours(lawnId: string, _previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ ids: [lawnId], form: data });
  await expectRight('keeps', { lawn: lawnId });
  const removed = await removeServiceHours(lawnId);
  await attachWeather(lawnId, new Date(0), new Date());
  revalidatePath('/', 'layout');
  return { ok: true, message: `${removed.toLocaleString('en-US')} hours of the service are removed.` };
}

export async function saveTypedForecast(lawnId: string, _previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ ids: [lawnId], form: data });
  await expectRight('works', { lawn: lawnId });
  const parsed = parseForm(TypedForecastForm, data);
  if (!parsed.ok) return parsed;
  await keepTypedForecast(lawnId, parsed.value, enteredOf(data), new Date());
  revalidatePath('/', 'layout');
  return { ok: true, message: 'Kept. The hours above are worked out from it.' };
}

export async function forgetTypedForecast(lawnId: string): Promise<void> {
  expectCall({ ids: [lawnId] });
  await expectRight('works', { lawn: lawnId });
  await dropTypedForecast(lawnId);
  revalidatePath('/', 'layout');
}

/** One look at a service's answer, for matching its names; nothing is kept. */
export async function lookAtService(lawnId: string, data: FormData): Promise<AnswerLook> {
  expectCall({ ids: [lawnId], form: data });
  await expectRight('keeps', 'diary');
  const parsed = parseForm(ServiceLookForm, data);
  return parsed.ok ? lookAtAnswer(lawnId, parsed.value, new Date()) : { ok: false, message: parsed.message };
}

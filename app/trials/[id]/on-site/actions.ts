'use server';
import { revalidatePath } from 'next/cache';
import { removeMeasurement } from '@/lib/diary/measurements';
import { expectCall, idOf } from '@/lib/forms/action-call';
import { parseForm } from '@/lib/forms/fields';
import { MeasurementForm, SiteRatingForm } from '@/lib/forms/on-site-form';
import { askFirst, type FormResult } from '@/lib/forms/result';
import { doubtsOnSite, measureOnSite, rateOnSite } from '@/lib/work/trials/on-site';
import { readTrial } from '@/lib/work/trials/trial-record';
import { expectRight } from '@/lib/work/people/rights';

export async function saveSiteRatings(trialId: string, _previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ ids: [trialId], form: data });
  await expectRight('works', { trial: trialId });
  const parsed = parseForm(SiteRatingForm, data);
  if (!parsed.ok) return parsed;
  const record = await readTrial(trialId);
  const question = record && askFirst(data, doubtsOnSite(record, parsed.value));
  if (question) return question;
  const kept = await rateOnSite(trialId, parsed.value, new Date());
  if (!kept.ok) return { ok: false, message: kept.message, errors: { [kept.field]: kept.message } };
  revalidatePath(`/trials/${trialId}`, 'layout');
  return kept;
}

export async function saveMeasurements(trialId: string, _previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ ids: [trialId], form: data });
  await expectRight('works', { trial: trialId });
  const parsed = parseForm(MeasurementForm, data);
  if (!parsed.ok) return parsed;
  const kept = await measureOnSite(trialId, parsed.value, new Date());
  if (!kept.ok) return { ok: false, message: kept.message, errors: { [kept.field]: kept.message } };
  revalidatePath(`/trials/${trialId}`, 'layout');
  return kept;
}

export async function takeBackMeasurement(trialId: string, data: FormData): Promise<void> {
  expectCall({ ids: [trialId], form: data });
  await expectRight('works', { trial: trialId });
  await removeMeasurement(trialId, idOf(data));
  revalidatePath(`/trials/${trialId}`, 'layout');
}

'use server';
import { revalidatePath } from 'next/cache';
import { redirect } from 'next/navigation';
import { noteUndo } from '@/app/bin/note-undo';
import { addOmission, binTrial, excludePlot, removeOmission } from '@/lib/diary/trials';
import { revokeShareLink } from '@/lib/diary/share-links';
import { expectCall, idOf } from '@/lib/forms/action-call';
import { parseForm } from '@/lib/forms/fields';
import { askFirst, type FormResult } from '@/lib/forms/result';
import { OmissionForm, RatingForm, TrialFactsForm, TrialForm } from '@/lib/forms/trial-form';
import { layOutTrial } from '@/lib/work/trials/lay-out-trial';
import { changeTrial } from '@/lib/work/trials/change-trial';
import { doubtsOfSitting, rateBlind } from '@/lib/work/trials/rate-blind';
import { readTrial } from '@/lib/work/trials/trial-record';
import { shareTrial } from '@/lib/work/trials/share-trial';
import { expectRight } from '@/lib/work/people/rights';

export async function saveTrial(lawnId: string, _previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ ids: [lawnId], form: data });
  await expectRight('keeps', { lawn: lawnId });
  const parsed = parseForm(TrialForm, data);
  if (!parsed.ok) return parsed;
  const laid = await layOutTrial(lawnId, parsed.value);
  if (!laid.ok) return { ok: false, message: laid.message, errors: { [laid.field]: laid.message } };
  revalidatePath('/', 'layout');
  redirect(`/trials/${laid.trialId}?laid=out`);
}

/** Changes what a trial is called and asks, and when it is planned to begin. */
export async function saveTrialFacts(trialId: string, _previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ ids: [trialId], form: data });
  await expectRight('keeps', { trial: trialId });
  const parsed = parseForm(TrialFactsForm, data);
  if (!parsed.ok) return parsed;
  const changed = await changeTrial(trialId, parsed.value);
  if (!changed)
    return { ok: false, message: 'Trial: expected one of this diary, got one that is not there any more', errors: {} };
  revalidatePath('/', 'layout');
  redirect(`/trials/${trialId}`);
}

export async function saveRatings(trialId: string, _previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ ids: [trialId], form: data });
  await expectRight('works', { trial: trialId });
  const parsed = parseForm(RatingForm, data);
  if (!parsed.ok) return parsed;
  const record = await readTrial(trialId);
  const question = record && askFirst(data, doubtsOfSitting(record, parsed.value));
  if (question) return question;
  const rated = await rateBlind(trialId, parsed.value, new Date());
  if (!rated.ok) return { ok: false, message: rated.message, errors: {} };
  revalidatePath(`/trials/${trialId}`, 'layout');
  return { ok: true, message: rated.message };
}

/** Keeps a plot in one photo, or a whole photo, out of the analysis. */
export async function leaveOut(trialId: string, _previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ ids: [trialId], form: data });
  await expectRight('keeps', { trial: trialId });
  const parsed = parseForm(OmissionForm, data);
  if (!parsed.ok) return parsed;
  await addOmission(trialId, parsed.value);
  revalidatePath(`/trials/${trialId}`, 'layout');
  return { ok: true, message: 'Left out; the reason is kept and shown.' };
}

export async function takeBackIn(trialId: string, data: FormData): Promise<void> {
  expectCall({ ids: [trialId], form: data });
  await expectRight('keeps', { trial: trialId });
  await removeOmission(trialId, idOf(data));
  revalidatePath(`/trials/${trialId}`, 'layout');
}

export async function takePlotBackIn(trialId: string, data: FormData): Promise<void> {
  expectCall({ ids: [trialId], form: data });
  await expectRight('keeps', { trial: trialId });
  await excludePlot(trialId, idOf(data, 'plotId'), null);
  revalidatePath(`/trials/${trialId}`, 'layout');
}

/** Makes a read-only link; its address is shown this once. */
export async function makeShareLink(trialId: string): Promise<FormResult> {
  expectCall({ ids: [trialId] });
  await expectRight('keeps', { trial: trialId });
  const token = await shareTrial(trialId);
  revalidatePath(`/trials/${trialId}`);
  return { ok: true, message: `/shared/${token}` };
}

export async function revokeLink(trialId: string, data: FormData): Promise<void> {
  expectCall({ ids: [trialId], form: data });
  await expectRight('keeps', { trial: trialId });
  await revokeShareLink(trialId, idOf(data), new Date());
  revalidatePath(`/trials/${trialId}`);
}

export async function removeTrial(trialId: string): Promise<void> {
  expectCall({ ids: [trialId] });
  await expectRight('keeps', { trial: trialId });
  await binTrial(trialId, new Date());
  await noteUndo('trial', trialId);
  revalidatePath('/', 'layout');
  redirect('/trials');
}

'use server';
import { revalidatePath } from 'next/cache';
import { redirect } from 'next/navigation';
import { after } from 'next/server';
import { noteUndo } from '@/app/bin/note-undo';
import { removeLandmark } from '@/lib/diary/landmarks';
import { binPhoto, findPhoto } from '@/lib/diary/photos';
import { expectCall, idOf } from '@/lib/forms/action-call';
import { parseForm } from '@/lib/forms/fields';
import { LandmarkForm } from '@/lib/forms/landmark-form';
import { MarkForm } from '@/lib/forms/mark-form';
import { OutlinesForm, PhotoFactsForm } from '@/lib/forms/photo-form';
import type { FormResult } from '@/lib/forms/result';
import { correctPhoto } from '@/lib/work/photos/correct-photo';
import { keepSightings, pointOut } from '@/lib/work/photos/keep-sightings';
import { askRenewalOf } from '@/lib/work/photos/ask-renewal';
import { judgeMark } from '@/lib/work/photos/marks';
import { afterOutlining } from '@/lib/work/photos/after-outlining';
import { outlinePlots } from '@/lib/work/photos/outline-plots';
import { expectRight } from '@/lib/work/people/rights';

export async function saveOutlines(photoId: string, _previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ ids: [photoId], form: data });
  await expectRight('works', { photo: photoId });
  const parsed = parseForm(OutlinesForm, data);
  if (!parsed.ok) return parsed;
  await keepSightings(photoId, parsed.value.found);
  const done = await outlinePlots(photoId, parsed.value.outlines);
  // Photos that rest on this one follow.
  after(() => askRenewalOf(photoId));
  revalidatePath('/', 'layout');
  const next = done.ok ? await afterOutlining(photoId) : null;
  return done.ok
    ? { ok: true, message: done.message, ...(next ? { next } : {}) }
    : { ok: false, message: done.message, errors: {} };
}

export async function addLandmark(photoId: string, _previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ ids: [photoId], form: data });
  await expectRight('works', { photo: photoId });
  const parsed = parseForm(LandmarkForm, data);
  if (!parsed.ok) return parsed;
  const done = await pointOut(photoId, parsed.value);
  if (!done.ok) return { ok: false, message: done.message, errors: {} };
  revalidatePath(`/photos/${photoId}`);
  return { ok: true, message: `Kept: ${parsed.value.name}.` };
}

export async function forgetLandmark(photoId: string, data: FormData): Promise<void> {
  expectCall({ ids: [photoId], form: data });
  await expectRight('works', { photo: photoId });
  const photo = await findPhoto(photoId);
  if (photo?.viewpointId) await removeLandmark(photo.viewpointId, idOf(data), new Date());
  revalidatePath(`/photos/${photoId}`);
}

export async function savePhotoFacts(photoId: string, _previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ ids: [photoId], form: data });
  await expectRight('works', { photo: photoId });
  const parsed = parseForm(PhotoFactsForm, data);
  if (!parsed.ok) return parsed;
  const corrected = await correctPhoto(photoId, parsed.value, new Date());
  if (!corrected.ok) return corrected;
  after(() => askRenewalOf(photoId));
  revalidatePath('/', 'layout');
  return { ok: true, message: 'Saved.' };
}

export async function removePhoto(data: FormData): Promise<void> {
  expectCall({ form: data });
  await expectRight('works', { photo: idOf(data) });
  const id = idOf(data);
  await binPhoto(id, new Date());
  await noteUndo('photo', id);
  revalidatePath('/', 'layout');
  redirect('/photos');
}

export async function judgeMarkShown(data: FormData): Promise<void> {
  expectCall({ form: data });
  await expectRight('works', { mark: idOf(data) });
  const parsed = parseForm(MarkForm, data);
  if (!parsed.ok) return;
  const { id, ...judgement } = parsed.value;
  await judgeMark(id, { state: judgement.state, ...(judgement.kind ? { kind: judgement.kind } : {}) }, new Date());
  revalidatePath('/', 'layout');
}

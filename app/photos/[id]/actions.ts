'use server';
import { revalidatePath } from 'next/cache';
import { redirect } from 'next/navigation';
import { noteUndo } from '@/app/bin/note-undo';
import { judgeMark } from '@/lib/diary/marks';
import { removeLandmark } from '@/lib/diary/landmarks';
import { binPhoto, findPhoto } from '@/lib/diary/photos';
import { idField, parseForm } from '@/lib/forms/fields';
import { LandmarkForm } from '@/lib/forms/landmark-form';
import { MarkForm } from '@/lib/forms/mark-form';
import { OutlinesForm, PhotoFactsForm } from '@/lib/forms/photo-form';
import type { FormResult } from '@/lib/forms/result';
import { correctPhoto } from '@/lib/work/correct-photo';
import { keepSightings, pointOut } from '@/lib/work/keep-sightings';
import { outlinePlots } from '@/lib/work/outline-plots';

export async function saveOutlines(photoId: string, _previous: FormResult, data: FormData): Promise<FormResult> {
  const parsed = parseForm(OutlinesForm, data);
  if (!parsed.ok) return parsed;
  await keepSightings(photoId, parsed.value.found);
  const done = await outlinePlots(photoId, parsed.value.outlines);
  revalidatePath(`/photos/${photoId}`);
  return done.ok ? { ok: true, message: done.message } : { ok: false, message: done.message, errors: {} };
}

export async function addLandmark(photoId: string, _previous: FormResult, data: FormData): Promise<FormResult> {
  const parsed = parseForm(LandmarkForm, data);
  if (!parsed.ok) return parsed;
  const done = await pointOut(photoId, parsed.value);
  if (!done.ok) return { ok: false, message: done.message, errors: {} };
  revalidatePath(`/photos/${photoId}`);
  return { ok: true, message: `Kept: ${parsed.value.name}.` };
}

export async function forgetLandmark(photoId: string, data: FormData): Promise<void> {
  const photo = await findPhoto(photoId);
  if (photo?.viewpointId) await removeLandmark(photo.viewpointId, idField.parse(data.get('id')), new Date());
  revalidatePath(`/photos/${photoId}`);
}

export async function savePhotoFacts(photoId: string, _previous: FormResult, data: FormData): Promise<FormResult> {
  const parsed = parseForm(PhotoFactsForm, data);
  if (!parsed.ok) return parsed;
  await correctPhoto(photoId, parsed.value);
  revalidatePath('/', 'layout');
  return { ok: true, message: 'Saved.' };
}

export async function removePhoto(data: FormData): Promise<void> {
  const id = idField.parse(data.get('id'));
  await binPhoto(id, new Date());
  await noteUndo('photo', id);
  revalidatePath('/', 'layout');
  redirect('/photos');
}

export async function judge(data: FormData): Promise<void> {
  const parsed = parseForm(MarkForm, data);
  if (!parsed.ok) return;
  const { id, ...judgement } = parsed.value;
  await judgeMark(id, { state: judgement.state, ...(judgement.kind ? { kind: judgement.kind } : {}) });
  revalidatePath('/', 'layout');
}

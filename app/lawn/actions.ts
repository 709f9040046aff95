'use server';
import { cookies } from 'next/headers';
import { revalidatePath } from 'next/cache';
import { redirect } from 'next/navigation';
import { lawnCookie } from '@/app/_ui/current-lawn';
import { findLawn, updateLawn } from '@/lib/diary/lawns';
import { noteUndo } from '@/app/bin/note-undo';
import { setBinned } from '@/lib/diary/bin';
import { createPlot, plotNameTaken, updatePlot } from '@/lib/diary/plots';
import { createSprayer, setCarrier, updateSprayer } from '@/lib/diary/sprayers';
import { expectCall, idOf } from '@/lib/forms/action-call';
import { parseForm } from '@/lib/forms/fields';
import { FirstLawnForm } from '@/lib/forms/first-lawn-form';
import { CarrierForm, LawnForm, PlotForm, SprayerForm } from '@/lib/forms/lawn-form';
import { setUpLawn } from '@/lib/work/diary/set-up-lawn';
import type { FormResult } from '@/lib/forms/result';
import { expectRight } from '@/lib/work/people/rights';

const oneYear = 366 * 24 * 3600;

/** The first screen: a lawn with its plots and sprayer. */
export async function startLawn(_previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ form: data });
  await expectRight('keeps', 'diary');
  const parsed = parseForm(FirstLawnForm, data);
  if (!parsed.ok) return parsed;
  const lawn = await setUpLawn(parsed.value);
  (await cookies()).set(lawnCookie, lawn.id, { maxAge: oneYear, sameSite: 'lax', httpOnly: true });
  revalidatePath('/', 'layout');
  redirect('/lawn');
}

export async function saveLawn(id: string, _previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ ids: [id], form: data });
  await expectRight('keeps', { lawn: id });
  const parsed = parseForm(LawnForm, data);
  if (!parsed.ok) return parsed;
  const lawn = await updateLawn(id, parsed.value);
  (await cookies()).set(lawnCookie, lawn.id, { maxAge: oneYear, sameSite: 'lax', httpOnly: true });
  revalidatePath('/', 'layout');
  return { ok: true, message: 'Lawn saved.' };
}

export async function savePlot(
  lawnId: string,
  id: string | null,
  _previous: FormResult,
  data: FormData,
): Promise<FormResult> {
  expectCall({ ids: [lawnId], optionalIds: [id], form: data });
  await expectRight('keeps', { lawn: lawnId, plot: id });
  const parsed = parseForm(PlotForm, data);
  if (!parsed.ok) return parsed;
  if (await plotNameTaken(lawnId, parsed.value.name, id ?? undefined)) {
    const message = `Plot name: expected a name no other plot of this lawn has, one in the bin included, got '${parsed.value.name}'`;
    return { ok: false, message, errors: { name: message } };
  }
  await (id ? updatePlot(id, parsed.value) : createPlot(lawnId, parsed.value));
  revalidatePath('/lawn');
  return { ok: true, message: `Plot ${parsed.value.name} saved.` };
}

export async function removePlot(data: FormData): Promise<void> {
  expectCall({ form: data });
  await expectRight('keeps', { plot: idOf(data) });
  const id = idOf(data);
  await setBinned('plot', id, new Date());
  await noteUndo('plot', id);
  revalidatePath('/', 'layout');
  redirect('/lawn');
}

export async function saveSprayer(
  lawnId: string,
  id: string | null,
  _previous: FormResult,
  data: FormData,
): Promise<FormResult> {
  expectCall({ ids: [lawnId], optionalIds: [id], form: data });
  await expectRight('keeps', { lawn: lawnId, sprayer: id });
  const parsed = parseForm(SprayerForm, data);
  if (!parsed.ok) return parsed;
  await (id ? updateSprayer(id, parsed.value) : createSprayer(lawnId, parsed.value));
  revalidatePath('/lawn');
  return { ok: true, message: `${parsed.value.name} saved.` };
}

export async function chooseLawn(data: FormData): Promise<void> {
  expectCall({ form: data });
  await expectRight('looks', { lawn: idOf(data, 'lawn') });
  const lawn = await findLawn(idOf(data, 'lawn'));
  if (lawn) (await cookies()).set(lawnCookie, lawn.id, { maxAge: oneYear, sameSite: 'lax', httpOnly: true });
  revalidatePath('/', 'layout');
  redirect('/');
}

/** A catch test's result goes to its sprayer: it takes the place of one typed before. */
export async function keepCarrier(data: FormData): Promise<void> {
  expectCall({ form: data });
  await expectRight('works', { sprayer: idOf(data) });
  const id = idOf(data);
  const parsed = parseForm(CarrierForm, data);
  if (!parsed.ok) return;
  await setCarrier(id, parsed.value);
  revalidatePath('/', 'layout');
  redirect('/lawn#sprayers');
}

'use server';
import { cookies } from 'next/headers';
import { revalidatePath } from 'next/cache';
import { redirect } from 'next/navigation';
import { lawnCookie } from '@/app/_ui/current-lawn';
import { createLawn, findLawn, updateLawn } from '@/lib/diary/lawns';
import { noteUndo } from '@/app/bin/note-undo';
import { setBinned } from '@/lib/diary/bin';
import { createPlot, plotNameTaken, updatePlot } from '@/lib/diary/plots';
import { createSprayer, updateSprayer } from '@/lib/diary/sprayers';
import { expectCall, idOf } from '@/lib/forms/action-call';
import { parseForm } from '@/lib/forms/fields';
import { LawnForm, PlotForm, SprayerForm } from '@/lib/forms/lawn-form';
import type { FormResult } from '@/lib/forms/result';

const oneYear = 366 * 24 * 3600;

export async function saveLawn(id: string | null, _previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ optionalIds: [id], form: data });
  const parsed = parseForm(LawnForm, data);
  if (!parsed.ok) return parsed;
  const lawn = id ? await updateLawn(id, parsed.value) : await createLawn(parsed.value);
  (await cookies()).set(lawnCookie, lawn.id, { maxAge: oneYear, sameSite: 'lax', httpOnly: true });
  revalidatePath('/', 'layout');
  if (!id) redirect('/lawn');
  return { ok: true, message: 'Lawn saved.' };
}

export async function savePlot(lawnId: string, id: string | null, _previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ ids: [lawnId], optionalIds: [id], form: data });
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
  const id = idOf(data);
  await setBinned('plot', id, new Date());
  await noteUndo('plot', id);
  revalidatePath('/', 'layout');
  redirect('/lawn');
}

export async function saveSprayer(lawnId: string, id: string | null, _previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ ids: [lawnId], optionalIds: [id], form: data });
  const parsed = parseForm(SprayerForm, data);
  if (!parsed.ok) return parsed;
  await (id ? updateSprayer(id, parsed.value) : createSprayer(lawnId, parsed.value));
  revalidatePath('/lawn');
  return { ok: true, message: `${parsed.value.name} saved.` };
}

export async function chooseLawn(data: FormData): Promise<void> {
  expectCall({ form: data });
  const lawn = await findLawn(String(data.get('lawn')));
  if (lawn) (await cookies()).set(lawnCookie, lawn.id, { maxAge: oneYear, sameSite: 'lax', httpOnly: true });
  revalidatePath('/', 'layout');
  redirect('/');
}

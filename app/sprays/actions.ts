'use server';
import { revalidatePath } from 'next/cache';
import { redirect } from 'next/navigation';
import { noteUndo } from '@/app/bin/note-undo';
import { binSpray } from '@/lib/diary/sprays';
import { expectCall, idOf } from '@/lib/forms/action-call';
import { parseForm } from '@/lib/forms/fields';
import { askFirst, type FormResult } from '@/lib/forms/result';
import { SprayForm } from '@/lib/forms/spray-form';
import { doubtsOfSpray, logSpray } from '@/lib/work/sprays/log-spray';
import { expectRight } from '@/lib/work/people/rights';

export async function saveSpray(
  lawnId: string,
  sprayId: string | null,
  _previous: FormResult,
  data: FormData,
): Promise<FormResult> {
  expectCall({ ids: [lawnId], optionalIds: [sprayId], form: data });
  await expectRight('works', { lawn: lawnId, spray: sprayId });
  const parsed = parseForm(SprayForm, data);
  if (!parsed.ok) return parsed;
  const question = askFirst(data, await doubtsOfSpray(lawnId, parsed.value, sprayId ?? undefined));
  if (question) return question;
  const logged = await logSpray(lawnId, parsed.value, sprayId ?? undefined);
  if (!logged.ok) return { ok: false, message: logged.message, errors: { [logged.field]: logged.message } };
  revalidatePath('/', 'layout');
  redirect(`/sprays/${logged.sprayId}`);
}

export async function removeSpray(data: FormData): Promise<void> {
  expectCall({ form: data });
  await expectRight('works', { spray: idOf(data) });
  const id = idOf(data);
  await binSpray(id, new Date());
  await noteUndo('spray', id);
  revalidatePath('/', 'layout');
  redirect('/');
}

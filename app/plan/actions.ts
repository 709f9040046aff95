'use server';
import { revalidatePath } from 'next/cache';
import { redirect } from 'next/navigation';
import { binSpray } from '@/lib/diary/sprays';
import { expectCall, idOf } from '@/lib/forms/action-call';
import { parseForm } from '@/lib/forms/fields';
import { DoneForm, PlanForm } from '@/lib/forms/plan-form';
import { askFirst, type FormResult } from '@/lib/forms/result';
import { doubtsOfDone, keepPlan, sprayFromPlan } from '@/lib/work/sprays/keep-plan';
import { expectRight } from '@/lib/work/people/rights';

export async function savePlan(
  lawnId: string,
  sprayId: string | null,
  draftKey: string,
  _previous: FormResult,
  data: FormData,
): Promise<FormResult> {
  expectCall({ ids: [lawnId], optionalIds: [sprayId], keys: [draftKey], form: data });
  await expectRight('works', { lawn: lawnId, spray: sprayId });
  const parsed = parseForm(PlanForm, data);
  if (!parsed.ok) return parsed;
  const kept = await keepPlan(lawnId, parsed.value, new Date(), sprayId ?? undefined);
  if (!kept.ok) return kept;
  revalidatePath('/', 'layout');
  redirect(`/plan/${kept.sprayId}?kept=${encodeURIComponent(draftKey)}`);
}

export async function finishSpray(sprayId: string, _previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ ids: [sprayId], form: data });
  await expectRight('works', { spray: sprayId });
  const parsed = parseForm(DoneForm, data);
  if (!parsed.ok) return parsed;
  const question = askFirst(data, await doubtsOfDone(sprayId, parsed.value));
  if (question) return question;
  const done = await sprayFromPlan(sprayId, parsed.value);
  if (!done.ok) return { ok: false, message: done.message, errors: { [done.field]: done.message } };
  revalidatePath('/', 'layout');
  redirect(`/sprays/${sprayId}`);
}

export async function dropPlan(data: FormData): Promise<void> {
  expectCall({ form: data });
  await expectRight('works', { spray: idOf(data) });
  await binSpray(idOf(data), new Date());
  revalidatePath('/', 'layout');
  redirect('/plan');
}

'use server';
import { revalidatePath } from 'next/cache';
import { expectCall } from '@/lib/forms/action-call';
import { CardsForm } from '@/lib/forms/cards-form';
import { parseForm } from '@/lib/forms/fields';
import type { FormResult } from '@/lib/forms/result';
import { pegCards, putCardsAway } from '@/lib/work/photos/peg-cards';
import { expectRight } from '@/lib/work/people/rights';

export async function saveCards(
  lawnId: string,
  trialId: string | null,
  _previous: FormResult,
  data: FormData,
): Promise<FormResult> {
  expectCall({ ids: [lawnId], optionalIds: [trialId], form: data });
  await expectRight('works', { lawn: lawnId, trial: trialId });
  const parsed = parseForm(CardsForm, data);
  if (!parsed.ok) return parsed;
  const pegged = await pegCards(lawnId, trialId, parsed.value.outsideM);
  if (!pegged.ok) return { ok: false, message: pegged.message, errors: {} };
  revalidatePath('/cards');
  return { ok: true, message: pegged.message };
}

export async function removeCards(lawnId: string, trialId: string | null): Promise<void> {
  expectCall({ ids: [lawnId], optionalIds: [trialId] });
  await expectRight('works', { lawn: lawnId, trial: trialId });
  await putCardsAway(lawnId, trialId);
  revalidatePath('/cards');
}

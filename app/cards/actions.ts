'use server';
import { revalidatePath } from 'next/cache';
import { CardsForm } from '@/lib/forms/cards-form';
import { idField, parseForm } from '@/lib/forms/fields';
import type { FormResult } from '@/lib/forms/result';
import { pegCards, putCardsAway } from '@/lib/work/peg-cards';

export async function saveCards(lawnId: string, trialId: string | null, _previous: FormResult, data: FormData): Promise<FormResult> {
  const parsed = parseForm(CardsForm, data);
  if (!parsed.ok) return parsed;
  const pegged = await pegCards(idField.parse(lawnId), idField.nullable().parse(trialId), parsed.value.outsideM);
  if (!pegged.ok) return { ok: false, message: pegged.message, errors: {} };
  revalidatePath('/cards');
  return { ok: true, message: pegged.message };
}

export async function removeCards(lawnId: string, trialId: string | null): Promise<void> {
  await putCardsAway(idField.parse(lawnId), idField.nullable().parse(trialId));
  revalidatePath('/cards');
}

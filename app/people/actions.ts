'use server';
import { revalidatePath } from 'next/cache';
import { expectCall } from '@/lib/forms/action-call';
import { parseForm } from '@/lib/forms/fields';
import { NewPersonForm, OwnPassphraseForm, ResetForm, RightsForm } from '@/lib/forms/person-form';
import type { FormResult } from '@/lib/forms/result';
import {
  addSomebody,
  changeOwnPassphrase,
  changeRights,
  putAway,
  resetPassphrase,
  takeBack,
} from '@/lib/work/people/people';
import { expectRight } from '@/lib/work/people/rights';

export async function addPerson(_previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ form: data });
  await expectRight('keeps', 'diary');
  const parsed = parseForm(NewPersonForm, data);
  if (!parsed.ok) return parsed;
  const added = await addSomebody(parsed.value, new Date());
  // The first one shuts the door: what is shown stays until one signs in.
  if (added.ok && !added.next) revalidatePath('/people');
  return added;
}

export async function saveRights(personId: string, _previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ ids: [personId], form: data });
  await expectRight('keeps', 'diary');
  const parsed = parseForm(RightsForm, data);
  if (!parsed.ok) return parsed;
  const changed = await changeRights(personId, parsed.value);
  revalidatePath('/people');
  return changed;
}

export async function givePassphrase(personId: string, _previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ ids: [personId], form: data });
  await expectRight('keeps', 'diary');
  const parsed = parseForm(ResetForm, data);
  return parsed.ok ? resetPassphrase(personId, parsed.value.passphrase, new Date()) : parsed;
}

export async function putPersonAway(personId: string, _previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ ids: [personId], form: data });
  await expectRight('keeps', 'diary');
  const put = await putAway(personId, new Date());
  revalidatePath('/people');
  return put;
}

export async function takePersonBack(personId: string, _previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ ids: [personId], form: data });
  await expectRight('keeps', 'diary');
  const back = await takeBack(personId);
  revalidatePath('/people');
  return back;
}

/** One's own passphrase: nobody else’s can be changed by it. */
export async function savePassphrase(_previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ form: data });
  await expectRight('looks', 'own');
  const parsed = parseForm(OwnPassphraseForm, data);
  return parsed.ok ? changeOwnPassphrase(parsed.value, new Date()) : parsed;
}

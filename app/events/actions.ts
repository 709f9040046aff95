'use server';
import { revalidatePath } from 'next/cache';
import { redirect } from 'next/navigation';
import { noteUndo } from '@/app/bin/note-undo';
import { binEvent } from '@/lib/diary/lawn-events';
import { expectCall, idOf } from '@/lib/forms/action-call';
import { parseForm } from '@/lib/forms/fields';
import { LawnEventForm } from '@/lib/forms/lawn-event-form';
import type { FormResult } from '@/lib/forms/result';
import { logEvent } from '@/lib/work/diary/log-event';
import { expectRight } from '@/lib/work/people/rights';

export async function saveEvent(
  lawnId: string,
  eventId: string | null,
  _previous: FormResult,
  data: FormData,
): Promise<FormResult> {
  expectCall({ ids: [lawnId], optionalIds: [eventId], form: data });
  await expectRight('works', { lawn: lawnId, event: eventId });
  const parsed = parseForm(LawnEventForm, data);
  if (!parsed.ok) return parsed;
  const logged = await logEvent(lawnId, parsed.value, new Date(), eventId ?? undefined);
  if (!logged.ok) return { ok: false, message: logged.message, errors: { [logged.field]: logged.message } };
  revalidatePath('/', 'layout');
  redirect('/');
}

export async function removeEvent(data: FormData): Promise<void> {
  expectCall({ form: data });
  await expectRight('works', { event: idOf(data) });
  const id = idOf(data);
  await binEvent(id, new Date());
  await noteUndo('event', id);
  revalidatePath('/', 'layout');
  redirect('/');
}

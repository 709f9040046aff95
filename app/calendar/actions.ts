'use server';
import { revalidatePath } from 'next/cache';
import { expectCall } from '@/lib/forms/action-call';
import type { FormResult } from '@/lib/forms/result';
import { makeCalendarLink, revokeCalendarLink } from '@/lib/work/diary/calendar-link';
import { expectRight } from '@/lib/work/people/rights';

/** @returns in `message` the path of the calendar file, shown once */
export async function makeCalendarAddress(lawnId: string): Promise<FormResult> {
  expectCall({ ids: [lawnId] });
  await expectRight('keeps', { lawn: lawnId });
  const token = await makeCalendarLink(lawnId);
  revalidatePath('/calendar');
  return { ok: true, message: `/shared/calendar/${token}` };
}

export async function revokeCalendarAddress(lawnId: string): Promise<void> {
  expectCall({ ids: [lawnId] });
  await expectRight('keeps', { lawn: lawnId });
  await revokeCalendarLink(lawnId);
  revalidatePath('/calendar');
}

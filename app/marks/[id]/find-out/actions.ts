'use server';
import { revalidatePath } from 'next/cache';
import { redirect } from 'next/navigation';
import { expectCall } from '@/lib/forms/action-call';
import { CauseTestForm } from '@/lib/forms/cause-test-form';
import { parseForm } from '@/lib/forms/fields';
import type { FormResult } from '@/lib/forms/result';
import { causesOfMark } from '@/lib/work/photos/find-causes';
import { layOutCauseTest } from '@/lib/work/trials/test-a-cause';
import { expectRight } from '@/lib/work/people/rights';

export async function layOutTest(
  markId: string,
  sprayId: string | null,
  _previous: FormResult,
  data: FormData,
): Promise<FormResult> {
  expectCall({ ids: [markId], optionalIds: [sprayId], form: data });
  await expectRight('keeps', { mark: markId, spray: sprayId });
  const parsed = parseForm(CauseTestForm, data);
  if (!parsed.ok) return parsed;
  const causes = await causesOfMark(markId, sprayId ?? undefined);
  if (!causes)
    return { ok: false, message: 'Mark: expected one of this diary, got one that is not there any more', errors: {} };
  const laid = await layOutCauseTest(causes, parsed.value);
  if (!laid.ok) return { ok: false, message: laid.message, errors: { [laid.field]: laid.message } };
  revalidatePath('/', 'layout');
  redirect(`/trials/${laid.trialId}`);
}

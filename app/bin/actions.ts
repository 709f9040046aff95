'use server';
import { cookies } from 'next/headers';
import { revalidatePath } from 'next/cache';
import { redirect } from 'next/navigation';
import { setBinned } from '@/lib/diary/bin';
import { expectCall, idOf } from '@/lib/forms/action-call';
import { BinForm } from '@/lib/forms/bin-form';
import { parseForm } from '@/lib/forms/fields';
import { VisitRefused } from '@/lib/visit';
import { deletePhotoForGood, rightToPutBack } from '@/lib/work/diary/bin';
import { undoCookie } from './note-undo';
import { expectRight } from '@/lib/work/people/rights';

const pages = {
  spray: '/sprays',
  photo: '/photos',
  product: '/shelf',
  trial: '/trials',
  plot: '/plots',
  event: '/events',
} as const;

/** Which entry a form means; one that names none is refused. */
function binned(data: FormData) {
  const parsed = parseForm(BinForm, data);
  if (!parsed.ok) throw new VisitRefused(400, parsed.message);
  return parsed.value;
}

export async function putBack(data: FormData): Promise<void> {
  expectCall({ form: data });
  await expectRight(...(await rightToPutBack(binned(data).kind, binned(data).id)));
  const { kind, id } = binned(data);
  const isBack = await setBinned(kind, id, null);
  (await cookies()).delete(undoCookie);
  revalidatePath('/', 'layout');
  // Deleted for good meanwhile: the bin shows what is left.
  if (!isBack) redirect('/bin');
  if (data.get('go') === 'yes') redirect(`${pages[kind]}/${id}`);
}

export async function deleteForGood(data: FormData): Promise<void> {
  expectCall({ form: data });
  await expectRight('keeps', { photo: idOf(data) });
  const parsed = parseForm(BinForm, data);
  if (!parsed.ok || parsed.value.kind !== 'photo') return;
  await deletePhotoForGood(parsed.value.id);
  (await cookies()).delete(undoCookie);
  revalidatePath('/', 'layout');
}

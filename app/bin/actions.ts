'use server';
import { cookies } from 'next/headers';
import { revalidatePath } from 'next/cache';
import { redirect } from 'next/navigation';
import { setBinned } from '@/lib/diary/bin';
import { expectCall, idOf } from '@/lib/forms/action-call';
import { BinForm } from '@/lib/forms/bin-form';
import { parseForm } from '@/lib/forms/fields';
import { VisitRefused } from '@/lib/visit';
import { deletePhotoForGood } from '@/lib/work/diary/bin';
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

/** Who moved it to the bin may put it back. */
function rightToPutBack(data: FormData): Parameters<typeof expectRight> {
  const parsed = parseForm(BinForm, data);
  if (!parsed.ok) throw new VisitRefused(400, parsed.message);
  const { kind, id } = parsed.value;
  if (kind === 'product') return ['keeps', 'some-lawn'];
  return [kind === 'plot' || kind === 'trial' ? 'keeps' : 'works', { [kind]: id }];
}

export async function putBack(data: FormData): Promise<void> {
  expectCall({ form: data });
  await expectRight(...rightToPutBack(data));
  const parsed = parseForm(BinForm, data);
  if (!parsed.ok) return;
  const isBack = await setBinned(parsed.value.kind, parsed.value.id, null);
  (await cookies()).delete(undoCookie);
  revalidatePath('/', 'layout');
  // Deleted for good meanwhile: the bin shows what is left.
  if (!isBack) redirect('/bin');
  if (data.get('go') === 'yes') redirect(`${pages[parsed.value.kind]}/${parsed.value.id}`);
}

export async function deleteForGood(data: FormData): Promise<void> {
  expectCall({ form: data });
  await expectRight('keeps', { photo: idOf(data) });
  const parsed = parseForm(BinForm, data);
  if (!parsed.ok || parsed.value.kind !== 'photo') return;
  await deletePhotoForGood(parsed.value.id);
  (await cookies()).delete(undoCookie);
  (await cookies()).delete(undoCookie);
  revalidatePath('/', 'layout');
}

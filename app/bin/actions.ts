'use server';
import { cookies } from 'next/headers';
import { revalidatePath } from 'next/cache';
import { redirect } from 'next/navigation';
import { setBinned } from '@/lib/diary/bin';
import { expectCall } from '@/lib/forms/action-call';
import { BinForm } from '@/lib/forms/bin-form';
import { parseForm } from '@/lib/forms/fields';
import { deletePhotoForGood } from '@/lib/work/bin';
import { undoCookie } from './note-undo';

const pages = { spray: '/sprays', photo: '/photos', product: '/shelf', trial: '/trials', plot: '/plots', event: '/events' } as const;

export async function putBack(data: FormData): Promise<void> {
  expectCall({ form: data });
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
  const parsed = parseForm(BinForm, data);
  if (!parsed.ok || parsed.value.kind !== 'photo') return;
  await deletePhotoForGood(parsed.value.id);
  (await cookies()).delete(undoCookie);
  (await cookies()).delete(undoCookie);
  revalidatePath('/', 'layout');
}

'use server';
import { revalidatePath } from 'next/cache';
import { expectCall } from '@/lib/forms/action-call';
import { ArchiveName } from '@/lib/forms/archive-request';
import { VisitRefused } from '@/lib/visit';
import { startArchive } from '@/lib/work/keep/archive-job';
import { removeKeptArchive } from '@/lib/work/keep/kept-archives';
import { expectRight } from '@/lib/work/people/rights';

export async function makeArchive(): Promise<void> {
  expectCall({});
  await expectRight('keeps', 'diary');
  await startArchive(new Date());
}

export async function removeArchive(data: FormData): Promise<void> {
  expectCall({ form: data });
  await expectRight('keeps', 'diary');
  const name = ArchiveName.safeParse(data.get('name'));
  if (!name.success)
    throw new VisitRefused(
      400,
      name.error.issues[0]?.message ?? 'Expected the name of a kept archive, got something else.',
    );
  await removeKeptArchive(name.data);
  revalidatePath('/keep');
}

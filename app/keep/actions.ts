'use server';
import { revalidatePath } from 'next/cache';
import { ArchiveName } from '@/lib/forms/archive-request';
import { startArchive } from '@/lib/work/archive-job';
import { discardArchive } from '@/lib/work/keep-archive';

export async function makeArchive(): Promise<void> {
  startArchive(new Date());
}

export async function removeArchive(data: FormData): Promise<void> {
  await discardArchive(ArchiveName.parse(data.get('name')));
  revalidatePath('/keep');
}

'use server';
import { revalidatePath } from 'next/cache';
import { expectCall } from '@/lib/forms/action-call';
import { removeDemo, startDemo } from '@/lib/work/demo-lawn';

export async function writeDemo(): Promise<void> {
  expectCall({});
  await startDemo();
  revalidatePath('/', 'layout');
}

export async function takeDemoOut(): Promise<void> {
  expectCall({});
  await removeDemo();
  revalidatePath('/', 'layout');
}

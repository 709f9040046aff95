'use server';
import { revalidatePath } from 'next/cache';
import { removeDemo, startDemo } from '@/lib/work/demo-lawn';

export async function writeDemo(): Promise<void> {
  await startDemo();
  revalidatePath('/', 'layout');
}

export async function takeDemoOut(): Promise<void> {
  await removeDemo();
  revalidatePath('/', 'layout');
}

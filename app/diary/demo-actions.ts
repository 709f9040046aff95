'use server';
import { revalidatePath } from 'next/cache';
import { expectCall } from '@/lib/forms/action-call';
import { removeDemo, startDemo } from '@/lib/work/diary/demo-lawn';
import { expectRight } from '@/lib/work/people/rights';

export async function writeDemo(data: FormData): Promise<void> {
  expectCall({ form: data });
  await expectRight('keeps', 'diary');
  await startDemo(data.get('setting') === 'metric-cool' ? 'metric-cool' : 'us-warm');
  revalidatePath('/', 'layout');
}

export async function takeDemoOut(): Promise<void> {
  expectCall({});
  await expectRight('keeps', 'diary');
  await removeDemo();
  revalidatePath('/', 'layout');
}

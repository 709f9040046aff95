'use server';
import { revalidatePath } from 'next/cache';
import { redirect } from 'next/navigation';
import { noteUndo } from '@/app/bin/note-undo';
import { binProduct, createProduct, updateProduct } from '@/lib/diary/products';
import { expectCall, idOf } from '@/lib/forms/action-call';
import { parseForm } from '@/lib/forms/fields';
import { ProductForm } from '@/lib/forms/product-form';
import type { FormResult } from '@/lib/forms/result';
import { stockGenericMaterials } from '@/lib/work/sprays/generic-shelf';
import { expectRight } from '@/lib/work/people/rights';

export async function saveProduct(id: string | null, _previous: FormResult, data: FormData): Promise<FormResult> {
  expectCall({ optionalIds: [id], form: data });
  await expectRight('keeps', 'some-lawn');
  const parsed = parseForm(ProductForm, data);
  if (!parsed.ok) return parsed;
  await (id ? updateProduct(id, parsed.value) : createProduct({ ...parsed.value, generic: false, source: '' }));
  revalidatePath('/shelf');
  redirect('/shelf');
}

export async function putGenericMaterials(): Promise<void> {
  expectCall({});
  await expectRight('keeps', 'some-lawn');
  await stockGenericMaterials();
  revalidatePath('/shelf');
}

export async function takeOffShelf(data: FormData): Promise<void> {
  expectCall({ form: data });
  await expectRight('keeps', 'some-lawn');
  const id = idOf(data);
  await binProduct(id, new Date());
  await noteUndo('product', id);
  revalidatePath('/', 'layout');
  redirect('/shelf');
}

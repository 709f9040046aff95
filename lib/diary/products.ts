import 'server-only';
import { Prisma } from '@prisma/client';
import { diary } from './client';
import type { KnownOf } from './left-out';

export type LiquidOrDry = 'liquid' | 'dry';

type Row = Prisma.ProductGetPayload<object>;

/** A species a product is made of and its share of the product's mass, 0..1. */
export interface SpeciesShare {
  species: string;
  massShare: number;
}

export type Product = Omit<Row, 'createdAt' | 'deletedAt' | 'form' | 'composition'> & {
  form: LiquidOrDry;
  composition: SpeciesShare[] | null;
};

/** A product to keep: most labels print half of what may be known. */
export type ProductInput = KnownOf<Omit<Product, 'id'>>;

function narrow(row: Row): Product {
  const { createdAt: _createdAt, deletedAt: _deletedAt, form, composition, ...rest } = row;
  return { ...rest, form: form === 'liquid' ? 'liquid' : 'dry', composition: composition as SpeciesShare[] | null };
}

const compositionColumn = (composition: SpeciesShare[] | null) =>
  composition === null ? Prisma.DbNull : composition.map((part) => ({ ...part }));
const toRow = ({ composition = null, ...rest }: ProductInput) => ({
  ...rest,
  composition: compositionColumn(composition),
});

/** The products at hand, by name. */
export async function listProducts(): Promise<Product[]> {
  return (await diary().product.findMany({ where: { deletedAt: null }, orderBy: { name: 'asc' } })).map(narrow);
}

export async function findProduct(id: string): Promise<Product | null> {
  const row = await diary().product.findFirst({ where: { id, deletedAt: null } });
  return row ? narrow(row) : null;
}

/** Products by id, those taken off the shelf included: what past sprays are made of. */
export async function findProducts(ids: readonly string[]): Promise<Map<string, Product>> {
  const rows = await diary().product.findMany({ where: { id: { in: [...new Set(ids)] } } });
  return new Map(rows.map((row) => [row.id, narrow(row)]));
}

export async function createProduct(input: ProductInput): Promise<Product> {
  return narrow(await diary().product.create({ data: toRow(input) }));
}

/** Puts many on the shelf in one transaction. */
export async function createProducts(inputs: readonly ProductInput[]): Promise<number> {
  return (await diary().product.createMany({ data: inputs.map(toRow) })).count;
}

/** Writes over the parts given; what a form doesn't show stays as it is. */
export async function updateProduct(id: string, { composition, ...rest }: Partial<ProductInput>): Promise<Product> {
  const data = { ...rest, ...(composition === undefined ? {} : { composition: compositionColumn(composition) }) };
  return narrow(await diary().product.update({ where: { id }, data }));
}

/** Takes a product off the shelf; sprays that used it keep it. */
export async function binProduct(id: string, at: Date): Promise<void> {
  await diary().product.update({ where: { id }, data: { deletedAt: at } });
}

/** Whether any product, those in the bin included, has iron. */
export async function hasIronProducts(): Promise<boolean> {
  return (await diary().product.findFirst({ where: { fePercent: { gt: 0 } }, select: { id: true } })) !== null;
}

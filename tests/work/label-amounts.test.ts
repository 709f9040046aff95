import { describe, expect, test } from 'vitest';
import { createPlot } from '@/lib/diary/plots';
import { createProduct } from '@/lib/diary/products';
import { findSpray } from '@/lib/diary/sprays';
import { parseForm } from '@/lib/forms/fields';
import { ProductForm } from '@/lib/forms/product-form';
import { SprayForm } from '@/lib/forms/spray-form';
import { logSpray } from '@/lib/work/sprays/log-spray';
import { useFreshDiary } from '../support/diary';
import { testLawn } from '../support/test-lawn';

useFreshDiary();

const now = new Date('2026-06-01T12:00:00Z');
const ACRE_M2 = 4046.8564224;

/** Logs a spray of 1 gal/1000 ft² on 1/43.56 acre, which is 1000 ft², with one product and an amount as typed. */
async function logged(fields: Record<string, string>, value: string, unit: string) {
  const lawn = await testLawn();
  const plot = await createPlot(lawn.id, {
    name: `P${Math.random()}`,
    isCheck: false,
    polygonM: null,
    areaM2: ACRE_M2 / 43.56,
    note: '',
  });
  const product = await createProduct({
    ...ProductForm.parse({ name: 'Thing', form: 'dry', role: 'nitrogen', ...fields }),
    generic: false,
    source: '',
  });
  const data = new FormData();
  for (const [name, text] of Object.entries({
    startedLocal: '2026-05-20T19:00',
    plotIds: plot.id,
    'items.0.productId': product.id,
    'items.0.rate.value': value,
    'items.0.rate.unit': unit,
    'carrier.value': '1',
    'carrier.unit': 'us-gal/1000ft2',
  }))
    data.append(name, text);
  const parsed = parseForm(SprayForm, data);
  if (!parsed.ok) return { message: parsed.message };
  const done = await logSpray(lawn.id, parsed.value, undefined, now);
  return done.ok ? { item: (await findSpray(done.sprayId))!.items[0]! } : { message: done.message };
}

describe('an amount as the label says it', () => {
  test('in all in the tank: 1 lb on 1000 ft² is 48.82 kg/ha, and stays as typed', async () => {
    const { item } = await logged({}, '1', 'total:lb');
    expect(item?.rateKgPerHa).toBeCloseTo(48.8243, 3);
    expect(item?.actualKg).toBeCloseTo(0.45359237, 8);
    expect(item).toMatchObject({ actualEnteredValue: 1, actualEnteredUnit: 'lb' });
  });

  test('a surfactant by its share of the mix: 0.25 % of 1 gal is 9.46 mL', async () => {
    const { item } = await logged({ form: 'liquid', role: 'surfactant' }, '0.25', '% v/v');
    expect(item?.actualL).toBeCloseTo(0.0025 * 3.785411784, 9);
    expect(item).toMatchObject({ rateEnteredValue: 0.25, rateEnteredUnit: '% v/v' });
  });

  test('by the nitrogen it brings: 0.5 lb N/1000 ft² of urea with 46 % is 1.087 lb of it', async () => {
    const { item } = await logged({ nUreaPercent: '46' }, '0.5', 'N:lb/1000ft2');
    expect((item?.actualKg ?? 0) / 0.45359237).toBeCloseTo(0.5 / 0.46, 6);
    expect((await logged({ fePercent: '20' }, '0.5', 'N:lb/1000ft2')).message).toBe(
      'Nitrogen of Thing: expected a product with nitrogen in its analysis, got one without',
    );
  });

  test('a fluid ounce of a dry product, or an ounce by weight of a liquid of unknown density, is refused', async () => {
    expect((await logged({}, '3', 'total:us-fl-oz')).message).toMatch(
      /^Density of Thing: expected one, since a dry product is measured by volume/,
    );
    expect((await logged({ form: 'liquid' }, '3', 'total:oz')).message).toMatch(
      /^Density of Thing: expected one, since its rate is a weight and the product is a liquid/,
    );
  });

  test('a made-up unit gets one sentence that names the product', async () => {
    expect((await logged({}, '3', 'total:handful')).message).toMatch(/product 1/i);
    expect((await logged({}, '-3', 'N:lb/1000ft2')).message).toMatch(
      /^Nitrogen of product 1: expected a number above 0/,
    );
  });
});

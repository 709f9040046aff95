import { describe, expect, test } from 'vitest';
import { createEvent } from '@/lib/diary/lawn-events';
import type { Lawn } from '@/lib/diary/lawns';
import { createPlot, type PlotInput } from '@/lib/diary/plots';
import { createProduct } from '@/lib/diary/products';
import { PlotForm } from '@/lib/forms/lawn-form';
import { ProductForm } from '@/lib/forms/product-form';
import { planSpray } from '@/lib/plan/plan-spray';
import { type SprayPlan } from '@/lib/plan/spray-plan';
import { readTypedPlan } from '@/lib/plan/typed-plan';
import { logSpray } from '@/lib/work/sprays/log-spray';
import { planFacts } from '@/lib/work/sprays/plan-facts';
import { useFreshDiary } from '../support/diary';
import { byRate, typedPlan } from '../support/plan';
import { testLawn } from '../support/test-lawn';

useFreshDiary();

const plot = (lawn: Lawn, name: string, more: Partial<PlotInput> = {}) =>
  createPlot(lawn.id, {
    name,
    isCheck: false,
    polygonM: null,
    areaM2: 10,
    note: '',
    ...more,
  });

/** Iron whose label asks for 14 days between two sprays. */
async function ironOfTwoWeeks() {
  return createProduct({
    ...ProductForm.parse({ name: 'Iron', form: 'dry', role: 'iron', fePercent: '20', minIntervalDays: '14' }),
    generic: false,
    source: '',
  });
}

/** 2 g/m² of the product on plots at a local time. */
async function spray(lawn: Lawn, productId: string, plotIds: string[], startedLocal: string) {
  const logged = await logSpray(lawn.id, {
    startedLocal,
    endedLocal: null,
    sprayerId: null,
    plotIds,
    items: [{ productId, rate: { value: 2, unit: 'g/m2' } }],
    carrierLPerHa: 800,
    carrierEnteredValue: 8,
    carrierEnteredUnit: 'L/100m2',
    actualVolumeL: null,
    leftoverL: null,
    measuredPh: null,
    airTempC: null,
    relHumidityPercent: null,
    windMPerS: null,
    applicator: '',
    note: '',
  });
  if (!logged.ok) throw new Error(logged.message);
}

/** A plan of the product for 1 June on plots. */
async function planned(lawn: Lawn, productId: string, plotIds: string[]): Promise<SprayPlan> {
  const start = new Date('2026-06-01T22:00:00Z');
  const { wish } = readTypedPlan(
    typedPlan({ startedLocal: '2026-06-01T18:00', plotIds, items: [byRate(productId, '2', 'g/m2')] }),
  );
  const { plan } = planSpray(wish!, await planFacts(lawn, 'new', start, start));
  return plan!;
}

const intervals = (plan: SprayPlan) =>
  plan.checks.filter((check) => check.code === 'label-interval').map((check) => [check.subject, check.level]);

describe('plots that share ground', () => {
  test('a strip inside the whole front knows the front’s iron: its label interval and its season', async () => {
    const lawn = await testLawn();
    const iron = await ironOfTwoWeeks();
    const front = await plot(lawn, 'Front', { areaM2: 100, groundPlace: 'apart' });
    const strip = await plot(lawn, 'Strip', { groundPlace: 'inside', insidePlotId: front.id });
    await spray(lawn, iron.id, [front.id], '2026-05-27T18:00');
    const plan = await planned(lawn, iron.id, [strip.id]);
    expect(intervals(plan)).toEqual([['Strip', 'over-label']]);
    // 2 g/m² of 20 % iron is 0.4 g/m², 4 kg/ha.
    expect(plan.seasons[0]?.beforeKgPerHa.Fe).toBeCloseTo(4, 9);
  });

  test('and the front knows the iron of a strip within it', async () => {
    const lawn = await testLawn();
    const iron = await ironOfTwoWeeks();
    const front = await plot(lawn, 'Front', { areaM2: 100 });
    const strip = await plot(lawn, 'Strip', { groundPlace: 'inside', insidePlotId: front.id });
    await spray(lawn, iron.id, [strip.id], '2026-05-27T18:00');
    expect(intervals(await planned(lawn, iron.id, [front.id]))).toEqual([['Front', 'over-label']]);
  });

  test('plots drawn over each other on the lawn’s plan count; plots beside each other don’t', async () => {
    const lawn = await testLawn();
    const iron = await ironOfTwoWeeks();
    const at = (left: number, width: number) => ({
      groundPlace: 'plan' as const,
      polygonM: [
        [left, 5],
        [left + width, 5],
        [left + width, 0],
        [left, 0],
      ] as [number, number][],
      areaM2: 5 * width,
    });
    const wide = await plot(lawn, 'Wide', at(0, 6));
    const over = await plot(lawn, 'Over', at(5, 2));
    const beside = await plot(lawn, 'Beside', at(7, 2));
    await spray(lawn, iron.id, [wide.id], '2026-05-27T18:00');
    expect(intervals(await planned(lawn, iron.id, [over.id]))).toEqual([['Over', 'over-label']]);
    expect(intervals(await planned(lawn, iron.id, [beside.id]))).toEqual([['Beside', 'clear']]);
  });

  test('where only areas are known it is said that nobody knows, when it would matter', async () => {
    const lawn = await testLawn();
    const iron = await ironOfTwoWeeks();
    const [front, strip] = [await plot(lawn, 'Front'), await plot(lawn, 'Strip')];
    await spray(lawn, iron.id, [front.id], '2026-05-27T18:00');
    const doubt = (plan: SprayPlan) =>
      plan.checks.filter((check) => check.code === 'ground-unknown').map((check) => [check.subject, check.level]);
    expect(doubt(await planned(lawn, iron.id, [strip.id]))).toEqual([['Strip', 'note']]);
    expect(intervals(await planned(lawn, iron.id, [strip.id]))).toEqual([['Strip', 'clear']]);
    // Sprayed long before, sharing ground would break nothing.
    const other = await plot(lawn, 'Other');
    await spray(lawn, iron.id, [other.id], '2026-05-02T18:00');
    const back = await plot(lawn, 'Back', { groundPlace: 'apart' });
    expect(doubt(await planned(lawn, iron.id, [back.id]))).toEqual([]);
  });

  test('two ticked plots on one ground, and the check among the sprayed, get a caution', async () => {
    const lawn = await testLawn();
    const iron = await ironOfTwoWeeks();
    const front = await plot(lawn, 'Front', { areaM2: 100 });
    const strip = await plot(lawn, 'Strip', { groundPlace: 'inside', insidePlotId: front.id });
    const check = await plot(lawn, 'Check', { isCheck: true, groundPlace: 'apart' });
    const codes = (plan: SprayPlan) =>
      plan.checks
        .filter((one) => one.code === 'plots-overlap' || one.code === 'check-sprayed')
        .map((one) => [one.code, one.level, one.subject]);
    expect(codes(await planned(lawn, iron.id, [front.id]))).toEqual([]);
    expect(codes(await planned(lawn, iron.id, [front.id, strip.id, check.id]))).toEqual([
      ['check-sprayed', 'caution', 'Check'],
      ['plots-overlap', 'caution', 'Strip, Front'],
    ]);
  });

  test('a plot in the bin shared its ground all the same', async () => {
    const lawn = await testLawn();
    const iron = await ironOfTwoWeeks();
    const front = await plot(lawn, 'Front', { areaM2: 100 });
    const strip = await plot(lawn, 'Strip', { groundPlace: 'inside', insidePlotId: front.id });
    await spray(lawn, iron.id, [front.id], '2026-05-27T18:00');
    const { setBinned } = await import('@/lib/diary/bin');
    await setBinned('plot', front.id, new Date());
    expect(intervals(await planned(lawn, iron.id, [strip.id]))).toEqual([['Strip', 'over-label']]);
  });
});

describe('a product that was spread', () => {
  test('counts in the season and in the label’s interval of every plot of the lawn', async () => {
    const lawn = await testLawn();
    const iron = await ironOfTwoWeeks();
    const strip = await plot(lawn, 'Strip');
    await createEvent(
      lawn.id,
      { kind: 'product', at: new Date('2026-05-27T18:00Z'), detail: 'fertiliser', productId: iron.id, rateKgPerHa: 50 },
      [],
    );
    const plan = await planned(lawn, iron.id, [strip.id]);
    expect(intervals(plan)).toEqual([['Strip', 'over-label']]);
    expect(plan.seasons[0]?.beforeKgPerHa.Fe).toBeCloseTo(10, 9);
  });
});

test('a product spread on a plot that is in the bin lies on the strip within it still', async () => {
  const lawn = await testLawn();
  const iron = await ironOfTwoWeeks();
  const front = await plot(lawn, 'Front', { areaM2: 100 });
  const strip = await plot(lawn, 'Strip', { groundPlace: 'inside', insidePlotId: front.id });
  await createEvent(
    lawn.id,
    { kind: 'product', at: new Date('2026-05-27T18:00Z'), detail: 'fertiliser', productId: iron.id, rateKgPerHa: 50 },
    [front.id],
  );
  const { setBinned } = await import('@/lib/diary/bin');
  await setBinned('plot', front.id, new Date());
  expect(intervals(await planned(lawn, iron.id, [strip.id]))).toEqual([['Strip', 'over-label']]);
});

describe('the plot form', () => {
  const typed = { name: 'A', length: { value: '5', unit: 'm' }, width: { value: '2', unit: 'm' } };
  test('a distance from the left stake puts the plot on the plan; without one its place is not said', () => {
    expect(PlotForm.parse({ ...typed, offset: { value: '0', unit: 'm' } })).toMatchObject({ groundPlace: 'plan' });
    expect(PlotForm.parse(typed)).toMatchObject({ groundPlace: null });
  });
  test('inside another plot, apart, or on the plan as chosen', () => {
    expect(PlotForm.parse({ ...typed, ground: 'cplotplotplot' })).toMatchObject({
      groundPlace: 'inside',
      insidePlotId: 'cplotplotplot',
    });
    expect(PlotForm.parse({ ...typed, ground: 'apart' })).toMatchObject({ groundPlace: 'apart', insidePlotId: null });
    expect(PlotForm.safeParse({ name: 'A', area: { value: '5', unit: 'm2' }, ground: 'plan' }).success).toBe(false);
  });
});

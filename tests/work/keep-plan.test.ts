import { parse } from 'csv-parse/sync';
import { describe, expect, test } from 'vitest';
import type { Lawn } from '@/lib/diary/lawns';
import { createPlot } from '@/lib/diary/plots';
import { binProduct, findProduct, listProducts, updateProduct } from '@/lib/diary/products';
import { findSpray, listPlans, spraysBetween } from '@/lib/diary/sprays';
import { writeSetting } from '@/lib/diary/settings';
import { addWeatherHours } from '@/lib/diary/weather-hours';
import { emptyHour } from '@/lib/weather/hour';
import { answerName } from '@/lib/work/weather/known-hours';
import { parseForm } from '@/lib/forms/fields';
import { DoneForm, PlanForm } from '@/lib/forms/plan-form';
import { SprayForm } from '@/lib/forms/spray-form';
import type { TypedItem, TypedPlan } from '@/lib/plan/typed-plan';
import { stockGenericMaterials } from '@/lib/work/sprays/generic-shelf';
import { labelBreaches } from '@/lib/work/sprays/label-breaches';
import { keepPlan, keptPlan, sprayFromPlan } from '@/lib/work/sprays/keep-plan';
import { logSpray } from '@/lib/work/sprays/log-spray';
import { planFacts } from '@/lib/work/sprays/plan-facts';
import { sprayRecordsCsv } from '@/lib/work/sprays/spray-records';
import { expectClose } from '../support/close';
import { plainLawn, useFreshDiary } from '../support/diary';
import { byRate, typedPlan } from '../support/plan';

useFreshDiary();

const NOW = new Date('2026-05-20T12:00:00Z');
const FT2 = 0.09290304;

/** A plan as its form posts it. */
function posted(typed: TypedPlan): FormData {
  const data = new FormData();
  const put = (name: string, value: unknown): void => {
    if (Array.isArray(value))
      value.forEach((one, place) => (typeof one === 'string' ? data.append(name, one) : put(`${name}.${place}`, one)));
    else if (typeof value === 'object' && value !== null)
      for (const [key, part] of Object.entries(value)) put(name === '' ? key : `${name}.${key}`, part);
    else if (value !== false) data.append(name, String(value));
  };
  put('', typed);
  return data;
}

function form(parts: Record<string, string>): FormData {
  const data = new FormData();
  for (const [name, value] of Object.entries(parts)) data.append(name, value);
  return data;
}

async function bench(): Promise<{ lawn: Lawn; plotId: string; idOf: (name: RegExp) => Promise<string> }> {
  const lawn = await plainLawn({ place: '=HYPERLINK("x")', waterPh: 8, waterAlkalinityMgPerLCaCO3: 150 });
  const plot = await createPlot(lawn.id, {
    name: 'North',
    isCheck: false,
    polygonM: null,
    areaM2: 5000 * FT2,
    areaEnteredValue: 5000,
    areaEnteredUnit: 'ft2',
    note: '',
  });
  await stockGenericMaterials();
  return {
    lawn,
    plotId: plot.id,
    idOf: async (name) => (await listProducts()).find((product) => name.test(product.name))?.id ?? '',
  };
}

async function keep(lawn: Lawn, typed: TypedPlan, sprayId?: string): Promise<{ id: string } | Record<string, string>> {
  const parsed = parseForm(PlanForm, posted(typed));
  if (!parsed.ok) return parsed.errors;
  const kept = await keepPlan(lawn.id, parsed.value, NOW, sprayId);
  return kept.ok ? { id: kept.sprayId } : kept.errors;
}

const done = (parts: Record<string, string>) => {
  const parsed = parseForm(DoneForm, form({ startedLocal: '2026-05-20T19:05', ...parts }));
  if (!parsed.ok) throw new Error(parsed.message);
  return parsed.value;
};

describe('the generic shelf', () => {
  test('is stocked once: a second time adds nothing, and a material that was changed stays as it is', async () => {
    const added = await stockGenericMaterials();
    expect(added).toBeGreaterThan(15);
    const [first] = await listProducts();
    await updateProduct(first?.id ?? '', { minIntervalDays: 9 });
    expect(await stockGenericMaterials()).toBe(0);
    expect(await findProduct(first?.id ?? '')).toMatchObject({ minIntervalDays: 9, generic: true });
    expect((await listProducts()).every((product) => product.generic)).toBe(true);
  });
});

describe('keeping a plan', () => {
  test('a plan is kept with what was typed, and its amounts, and is not a spray yet', async () => {
    const { lawn, plotId, idOf } = await bench();
    const typed = typedPlan({
      plotIds: [plotId],
      items: [byRate(await idOf(/^Urea/), '0.5', 'lb/1000ft2')],
      note: 'evening',
    });
    const kept = await keep(lawn, typed);
    const spray = await findSpray('id' in kept ? (kept.id ?? '') : '');
    expect(spray).toMatchObject({ state: 'planned', note: 'evening', overLimitReason: null });
    expect(spray?.startedAt.toISOString()).toBe('2026-05-21T01:00:00.000Z'); // 19:00 in Denver in May
    expectClose('kg', spray?.items[0]?.plannedKg, 2.5 * 0.45359237, 1e-9);
    expect(spray?.items[0]).toMatchObject({ rateEnteredValue: 0.5, rateEnteredUnit: 'lb/1000ft2', actualKg: null });
    expect(spray && keptPlan(spray)?.typed).toEqual(typed);
    expect(await listPlans(lawn.id)).toHaveLength(1);
  });

  test('a change to the shelf afterwards does not reach into the kept plan', async () => {
    const { lawn, plotId, idOf } = await bench();
    const urea = await idOf(/^Urea/);
    const kept = await keep(lawn, typedPlan({ plotIds: [plotId], items: [byRate(urea, '0.5', 'lb/1000ft2')] }));
    await updateProduct(urea, { name: 'Renamed', nUreaPercent: 10 });
    const spray = await findSpray('id' in kept ? (kept.id ?? '') : '');
    expect(spray && keptPlan(spray)?.result.items[0]?.name).toBe('Urea 46-0-0');
  });

  test('a product that has left the shelf stays with the plan that had it, and is no choice for another', async () => {
    const { lawn, plotId, idOf } = await bench();
    const urea = await idOf(/^Urea/);
    const typed = typedPlan({ plotIds: [plotId], items: [byRate(urea, '0.5', 'lb/1000ft2')] });
    const kept = await keep(lawn, typed);
    const id = 'id' in kept ? (kept.id ?? '') : '';
    await updateProduct(urea, { labelMaxEnteredValue: 1, labelMaxEnteredUnit: 'lb/1000ft2' });
    await binProduct(urea, NOW);
    const items = [byRate(urea, '0.7', 'lb/1000ft2')];
    expect(await keep(lawn, { ...typed, items, note: 'later' }, id)).toEqual({ id });
    const spray = await findSpray(id);
    expect(spray).toMatchObject({ note: 'later', items: [{ productId: urea, rateEnteredValue: 0.7 }] });
    expect(spray && keptPlan(spray)?.result.items[0]?.name).toBe('Urea 46-0-0');
    const facts = await planFacts(lawn, id, NOW, NOW, [urea, urea]);
    expect(facts.products.filter((product) => product.leftShelf).map((product) => product.id)).toEqual([urea]);
    // Its label holds as it did on the shelf.
    const over = [byRate(urea, '2', 'lb/1000ft2')];
    expect(Object.keys(await keep(lawn, { ...typed, items: over }, id))).toEqual(['overLimitReason']);
    expect(await keep(lawn, typed)).toEqual({
      'items.0.productId': 'Product: expected one from the shelf, got one that is not there any more',
    });
    const citric = await idOf(/^Citric acid, an/);
    await keep(lawn, { ...typed, items: [byRate(citric, '1', 'oz/1000ft2')] }, id);
    expect(Object.keys(await keep(lawn, typed, id))).toEqual(['items.0.productId']);
  });

  test('past a label limit it is refused without a reason, and kept and recorded with one', async () => {
    const { lawn, plotId, idOf } = await bench();
    const urea = await idOf(/^Urea/);
    await updateProduct(urea, { labelMaxEnteredValue: 0.25, labelMaxEnteredUnit: 'lb/1000ft2' });
    const typed = typedPlan({ plotIds: [plotId], items: [byRate(urea, '0.5', 'lb/1000ft2')] });
    const refused = await keep(lawn, typed);
    expect(Object.keys(refused)).toEqual(['overLimitReason']);
    expect(Object.values(refused)[0]).toMatch(/^Reason: expected why this plan goes past a label limit .*got nothing$/);
    expect(await listPlans(lawn.id)).toHaveLength(0);
    const kept = await keep(lawn, { ...typed, overLimitReason: 'Test strip, agreed with the extension office' });
    expect(await findSpray('id' in kept ? (kept.id ?? '') : '')).toMatchObject({
      overLimitReason: 'Test strip, agreed with the extension office',
    });
  });

  test('a reason typed for a plan within the label is not recorded as a breach', async () => {
    const { lawn, plotId, idOf } = await bench();
    const kept = await keep(
      lawn,
      typedPlan({
        plotIds: [plotId],
        items: [byRate(await idOf(/^Urea/), '0.1', 'lb/1000ft2')],
        overLimitReason: 'old text',
      }),
    );
    expect(await findSpray('id' in kept ? (kept.id ?? '') : '')).toMatchObject({ overLimitReason: null });
  });

  test('bleach with an acid is never kept, whatever reason is given', async () => {
    const { lawn, plotId, idOf } = await bench();
    const seaweed = await idOf(/^Seaweed/);
    await updateProduct(seaweed, { composition: [{ species: 'sodium hypochlorite', massShare: 0.06 }] });
    const refused = await keep(
      lawn,
      typedPlan({
        plotIds: [plotId],
        overLimitReason: 'because',
        items: [byRate(seaweed, '3', 'us-fl-oz/1000ft2'), byRate(await idOf(/^Citric acid, an/), '1', 'oz/1000ft2')],
      }),
    );
    expect(Object.values(refused)[0]).toMatch(/gives off chlorine gas/);
  });

  test('impossible input comes back with sentences at its fields', async () => {
    const { lawn, plotId, idOf } = await bench();
    const urea = await idOf(/^Urea/);
    expect(
      Object.keys(
        await keep(
          lawn,
          typedPlan({
            plotIds: [plotId],
            tank: { value: '0', unit: 'us-gal' },
            items: [byRate(urea, '-3', 'lb/1000ft2')],
            waterPh: 'twelve',
          }),
        ),
      ).sort(),
    ).toEqual(['items.0.rate', 'tank', 'waterPh']);
    expect(
      Object.keys(await keep(lawn, typedPlan({ plotIds: ['nothingatall'], items: [byRate(urea, '1', 'lb/1000ft2')] }))),
    ).toEqual(['plotIds']);
    expect(
      Object.keys(await keep(lawn, typedPlan({ plotIds: [plotId], items: [byRate(urea, '1', 'furlong/fortnight')] }))),
    ).toEqual(['items.0.rate']);
    expect(await listPlans(lawn.id)).toHaveLength(0);
  });

  test('a nutrient-fixed item keeps the product rate it comes to as its rate', async () => {
    const { lawn, plotId, idOf } = await bench();
    const item: TypedItem = {
      productId: await idOf(/^Urea/),
      by: 'nutrient',
      rate: { value: '', unit: 'lb/1000ft2' },
      nutrient: { value: '0.23', unit: 'lb/1000ft2' },
      basis: 'N',
    };
    const kept = await keep(lawn, typedPlan({ plotIds: [plotId], items: [item] }));
    const spray = await findSpray('id' in kept ? (kept.id ?? '') : '');
    expectClose('kg/ha', spray?.items[0]?.rateEnteredValue, 0.5 * 48.8243, 0.005); // kept to four figures
    expect(spray?.items[0]?.rateEnteredUnit).toBe('kg/ha');
  });
});

describe('a plan becomes a spray', () => {
  async function kept() {
    const { lawn, plotId, idOf } = await bench();
    const urea = await idOf(/^Urea/);
    const plan = await keep(lawn, typedPlan({ plotIds: [plotId], items: [byRate(urea, '0.5', 'lb/1000ft2')] }));
    return { lawn, plotId, urea, id: 'id' in plan ? (plan.id ?? '') : '' };
  }

  test('with one press, as planned', async () => {
    const { lawn, id } = await kept();
    expect(await sprayFromPlan(id, done({}))).toEqual({ ok: true });
    const spray = await findSpray(id);
    expect(spray?.state).toBe('done');
    expectClose('kg', spray?.items[0]?.actualKg, spray?.items[0]?.plannedKg ?? 0, 1e-12);
    expect(await listPlans(lawn.id)).toHaveLength(0);
  });

  test('what was measured out and what was left over are recorded, and only what went out counts', async () => {
    const { id } = await kept();
    const itemId = (await findSpray(id))?.items[0]?.id ?? '';
    await sprayFromPlan(
      id,
      done({
        'items.0.itemId': itemId,
        'items.0.actual.value': '3',
        'items.0.actual.unit': 'lb',
        'leftover.value': '1',
        'leftover.unit': 'us-gal',
        'actualVolume.value': '4',
        'actualVolume.unit': 'us-gal',
      }),
    );
    const item = (await findSpray(id))?.items[0];
    expect(item).toMatchObject({ actualEnteredValue: 3, actualEnteredUnit: 'lb' });
    expectClose('kg', item?.actualKg, 3 * 0.45359237 * (4 / 5), 1e-9);
  });

  test('a second press finds no plan any more and changes nothing', async () => {
    const { id } = await kept();
    await sprayFromPlan(id, done({ applicator: 'Ada' }));
    expect(await sprayFromPlan(id, done({ applicator: 'Bea' }))).toMatchObject({ ok: false });
    expect(await findSpray(id)).toMatchObject({ applicator: 'Ada' });
  });

  test('the spray then counts for the next plan: its interval and its season', async () => {
    const { lawn, plotId, urea, id } = await kept();
    await sprayFromPlan(id, done({}));
    await updateProduct(urea, { minIntervalDays: 21, seasonCapEnteredValue: 0.9, seasonCapEnteredUnit: 'lb/1000ft2' });
    const next = typedPlan({
      plotIds: [plotId],
      startedLocal: '2026-06-01T19:00',
      items: [byRate(urea, '0.5', 'lb/1000ft2')],
      overLimitReason: 'test',
    });
    const plan = await keep(lawn, next);
    const spray = await findSpray('id' in plan ? (plan.id ?? '') : '');
    const over =
      spray &&
      keptPlan(spray)
        ?.result.checks.filter((check) => check.level === 'over-label')
        .map((check) => check.code);
    expect(over).toEqual(['label-interval', 'label-season-amount']);
    expectClose('kg N/ha', spray && keptPlan(spray)?.result.seasons[0]?.beforeKgPerHa.N, 0.5 * 0.46 * 48.8243, 0.001);
  });

  test('more than the label in the tank is told on the spray itself', async () => {
    const { lawn, urea, id } = await kept();
    await updateProduct(urea, { labelMaxEnteredValue: 0.55, labelMaxEnteredUnit: 'lb/1000ft2' });
    const itemId = (await findSpray(id))?.items[0]?.id ?? '';
    await sprayFromPlan(
      id,
      done({ 'items.0.itemId': itemId, 'items.0.actual.value': '3', 'items.0.actual.unit': 'lb' }),
    );
    const spray = await findSpray(id);
    const breaches = spray ? await labelBreaches(lawn, spray) : [];
    expect(breaches).toMatchObject([{ code: 'label-rate', level: 'over-label', subject: 'North' }]);
    expectClose('kg/ha', breaches[0]?.value, 0.6 * 48.8243, 0.001);
  });

  test('rain that is only forecast hasn’t come on a spray; measured, it has', async () => {
    const { lawn, urea, id } = await kept();
    await updateProduct(urea, { labelRainfastHours: 6 });
    await sprayFromPlan(id, done({})); // 19:05 in Denver
    const hourStart = new Date('2026-05-21T03:00Z');
    await writeSetting(answerName(lawn.id), {
      key: 'test',
      fetchedAtUtcMs: NOW.getTime(),
      hours: [{ ...emptyHour(hourStart.getTime()), rainMm: 5 }],
    });
    const codes = async () => (await labelBreaches(lawn, (await findSpray(id))!)).map((check) => check.code);
    expect(await codes()).toEqual([]);
    await addWeatherHours(lawn.id, [{ hourStart, rainMm: 5, source: 'gauge' }]);
    expect(await codes()).toEqual(['label-rainfast']);
  });

  test('correcting the spray later keeps what was planned and what was measured out', async () => {
    const { lawn, plotId, urea, id } = await kept();
    const itemId = (await findSpray(id))?.items[0]?.id ?? '';
    await sprayFromPlan(
      id,
      done({ 'items.0.itemId': itemId, 'items.0.actual.value': '3', 'items.0.actual.unit': 'lb' }),
    );
    const edit = parseForm(
      SprayForm,
      form({
        startedLocal: '2026-05-20T19:10',
        plotIds: plotId,
        'items.0.productId': urea,
        'items.0.rate.value': '0.5',
        'items.0.rate.unit': 'lb/1000ft2',
        note: 'corrected',
      }),
    );
    if (!edit.ok) throw new Error(edit.message);
    await logSpray(lawn.id, edit.value, id);
    const spray = await findSpray(id);
    expect(spray?.note).toBe('corrected');
    expectClose('planned', spray?.items[0]?.plannedKg, 2.5 * 0.45359237, 1e-9);
    expect(spray?.items[0]).toMatchObject({ actualEnteredValue: 3, actualEnteredUnit: 'lb' });
  });

  test('the record as CSV has the fields public guidance asks for, units in headings, and runs no formula', async () => {
    const { lawn, urea, id } = await kept();
    await updateProduct(urea, { registrationNumber: '123-45' });
    await sprayFromPlan(
      id,
      done({
        endedLocal: '2026-05-20T19:40',
        applicator: '@Ada, "the elder"',
        applicatorLicence: 'CO-7',
        'wind.value': '5',
        'wind.unit': 'mph',
        'airTemp.value': '68',
        'airTemp.unit': 'degF',
        windFromDeg: '270',
      }),
    );
    const csv = await sprayRecordsCsv(lawn.id);
    const [row] = parse(csv ?? '', { columns: true }) as Record<string, string>[];
    expect(row).toMatchObject({
      'date (yyyy-mm-dd)': '2026-05-20',
      'start (local time)': '19:05',
      'end (local time)': '19:40',
      'time zone': 'America/Denver',
      product: 'Urea 46-0-0',
      'registration number': '123-45',
      'total product, undiluted (kg)': '1.13398',
      'area treated (1000 ft2)': '5',
      'rate as entered': '0.5',
      'rate as entered: unit': 'lb/1000ft2',
      applicator: `'@Ada, "the elder"`,
      'applicator certificate or licence number': 'CO-7',
      'place or address': `'=HYPERLINK("x")`,
      'air temperature (degC)': '20',
      'wind speed (m/s)': '2.235',
      'wind from (degrees)': '270',
      site: 'turfgrass',
    });
    expect((await spraysBetween(lawn.id, null, null)).length).toBe(1);
  });
});

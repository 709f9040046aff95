import { describe, expect, test } from 'vitest';
import { setBinned } from '@/lib/diary/bin';
import { createPlot, updatePlot, type PlotInput } from '@/lib/diary/plots';
import { binProduct, createProduct, listProducts } from '@/lib/diary/products';
import { setCarrier } from '@/lib/diary/sprayers';
import { createSpray, findSpray } from '@/lib/diary/sprays';
import { addWeatherHours } from '@/lib/diary/weather-hours';
import { updateLawn, type Lawn } from '@/lib/diary/lawns';
import { parseForm } from '@/lib/forms/fields';
import { LawnForm } from '@/lib/forms/lawn-form';
import { DoneForm, PlanForm } from '@/lib/forms/plan-form';
import { ProductForm } from '@/lib/forms/product-form';
import { askFirst } from '@/lib/forms/result';
import { SprayForm, type SprayEntry } from '@/lib/forms/spray-form';
import { measuredOut } from '@/lib/plan/measure-out';
import { correctPhoto } from '@/lib/work/photos/correct-photo';
import { doubtsOfDone, keepPlan, sprayFromPlan } from '@/lib/work/sprays/keep-plan';
import { attachWeather } from '@/lib/work/weather/spray-weather';
import { doubtsOfSpray, logSpray } from '@/lib/work/sprays/log-spray';
import { usualPlots } from '@/lib/work/photos/usual-plots';
import { diary } from '@/lib/diary/client';
import { useFreshDiary } from '../support/diary';
import { byRate, typedPlan } from '../support/plan';
import { testLawn } from '../support/test-lawn';
import { testSprayer } from '../support/test-sprayer';
import { entryOf, laidOut } from '../support/trial';

useFreshDiary();

const now = new Date('2026-06-01T12:00:00Z');
const form = (parts: Record<string, string>) => {
  const data = new FormData();
  for (const [name, value] of Object.entries(parts)) data.append(name, value);
  return data;
};
const errorsOf = (parsed: ReturnType<typeof parseForm>) => (parsed.ok ? {} : parsed.errors);
const plot = (lawn: Lawn, name: string, more: Partial<PlotInput> = {}) =>
  createPlot(lawn.id, {
    name,
    isCheck: false,
    polygonM: null,
    areaM2: 100,
    note: '',
    ...more,
  });
const product = (name: string, fields: Record<string, string> = {}) =>
  createProduct({
    ...ProductForm.parse({ name, form: 'dry', role: 'iron', fePercent: '20', ...fields }),
    generic: false,
    source: '',
  });
const entry = (more: Partial<SprayEntry>): SprayEntry => ({
  startedLocal: '2026-05-20T19:00',
  endedLocal: null,
  sprayerId: null,
  plotIds: [],
  items: [],
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
  ...more,
});

describe('a time without sense', () => {
  test('a spray done in 2031 is refused, one a minute ahead of this machine’s clock is not', async () => {
    const lawn = await testLawn();
    const { id } = await plot(lawn, 'A');
    const log = (startedLocal: string, endedLocal: string | null = null) =>
      logSpray(lawn.id, entry({ plotIds: [id], startedLocal, endedLocal }), undefined, now);
    expect(await log('2031-05-20T19:00')).toEqual({
      ok: false,
      field: 'startedLocal',
      message:
        'Start: expected a time that has been, got 2031-05-20 19:00, which is still to come; plan it, and write it down once it is done',
    });
    expect(errorsOf(parseForm(SprayForm, form({ startedLocal: '0202-05-20T19:00' })))['startedLocal']).toMatch(
      /^Start: expected a date/,
    );
    expect(await log('2026-05-20T19:00', '2026-05-23T19:00')).toMatchObject({ ok: false, field: 'endedLocal' });
    expect((await log('2026-06-01T08:01')).ok).toBe(true); // New York is four hours behind
  });

  test('a photo can’t be put into the future', async () => {
    const lawn = await testLawn();
    const photo = await diary().photo.create({
      data: {
        lawnId: lawn.id,
        sha256: 'a'.repeat(64),
        kind: 'jpeg',
        fileName: 'a.jpg',
        bytes: 1,
        widthPx: 4,
        heightPx: 3,
        takenAt: new Date('2026-05-20T12:00Z'),
        takenAtOffsetMin: 0,
        takenAtBasis: 'typed',
      },
    });
    expect(
      await correctPhoto(photo.id, { viewpoint: '', takenLocal: '2031-01-01T12:00', note: '' }, now),
    ).toMatchObject({ ok: false, errors: { takenLocal: expect.stringMatching(/^Taken: expected/) } });
    expect((await diary().photo.findUniqueOrThrow({ where: { id: photo.id } })).takenAt).toEqual(
      new Date('2026-05-20T12:00Z'),
    );
    // 16:00 in New York is eight hours away.
    expect(
      await correctPhoto(photo.id, { viewpoint: '', takenLocal: '2026-06-01T16:00', note: '' }, now),
    ).toMatchObject({
      ok: false,
      message: 'Taken: expected a time that has been, got 2026-06-01 16:00, which is still to come',
    });
    expect(await correctPhoto(photo.id, { viewpoint: '', takenLocal: '2026-05-21T12:00', note: '' }, now)).toEqual({
      ok: true,
    });
  });
});

describe('an amount without sense', () => {
  test('a mowing height of 400 in is refused in inches, 400 mm in millimetres', () => {
    const lawn = (value: string, unit: string) =>
      errorsOf(
        parseForm(
          LawnForm,
          form({
            name: 'L',
            timeZone: 'UTC',
            unitSystem: 'metric',
            'mowingHeight.value': value,
            'mowingHeight.unit': unit,
          }),
        ),
      );
    expect(lawn('400', 'in')).toEqual({ mowingHeight: 'Mowing height: expected 0.0787 to 9.84 in, got 400' });
    expect(lawn('400', 'mm')).toEqual({ mowingHeight: 'Mowing height: expected 2 to 250 mm, got 400' });
    expect(lawn('3', 'in')).toEqual({});
  });

  test('air of 100 is a summer’s day in °F and nothing in °C', () => {
    const air = (unit: string) =>
      errorsOf(
        parseForm(
          SprayForm,
          form({
            startedLocal: '2026-05-20T19:00',
            plotIds: 'cplotplotplot',
            'items.0.productId': 'cproductproduct',
            'items.0.rate.value': '1',
            'items.0.rate.unit': 'g/m2',
            'airTemp.value': '100',
            'airTemp.unit': unit,
          }),
        ),
      );
    expect(air('degF')).toEqual({});
    expect(air('degC')).toEqual({ airTemp: 'Air temperature: expected -40 to 55 °C, got 100' });
  });

  test('more can’t be left than the tank holds; a strange volume is asked about once', async () => {
    const lawn = await testLawn();
    const { id } = await plot(lawn, 'A');
    const sprayer = await testSprayer(lawn.id);
    expect(
      await logSpray(lawn.id, entry({ plotIds: [id], sprayerId: sprayer.id, leftoverL: 375 }), undefined, now),
    ).toEqual({
      ok: false,
      field: 'leftover',
      message: 'Left in the tank: expected at most the 15 L that Knapsack holds, got 375 L',
    });
    // 100 m² at 800 L/ha take 8 L.
    expect(await doubtsOfSpray(lawn.id, entry({ plotIds: [id], actualVolumeL: 80 }))).toEqual([
      'Volume sprayed: 80 L on 100 m², where the carrier volume asks for 8 L.',
    ]);
    expect(await doubtsOfSpray(lawn.id, entry({ plotIds: [id], actualVolumeL: 7, leftoverL: 1 }))).toEqual([]);
    // 99 gal left of a 7 fl oz mix, whether a carrier volume is known or not.
    expect(
      await doubtsOfSpray(
        lawn.id,
        entry({ plotIds: [id], carrierLPerHa: null, actualVolumeL: 0.207, leftoverL: 374.8 }),
      ),
    ).toEqual(['Left in the tank: 375 L of a mix of which 207 mL was to go out.']);
    const iron = await product('Iron');
    const of = (value: number, unit: 'g/m2' | 'kg/ha') =>
      doubtsOfSpray(lawn.id, entry({ plotIds: [id], items: [{ productId: iron.id, rate: { value, unit } }] }));
    expect(await of(2, 'g/m2')).toEqual([]);
    expect(await of(2000, 'g/m2')).toEqual(['Iron: 200 kg in all, more than the 8 L of mix.']);
    const byNitrogen = { productId: iron.id, nitrogen: { value: 50, unit: 'kg/ha' as const } };
    expect(await doubtsOfSpray(lawn.id, entry({ plotIds: [id], items: [byNitrogen] }))).toEqual([]);
    expect(await of(2000, 'kg/ha')).toEqual(['Iron: 20 kg in all, more than the 8 L of mix.']);
    expect(askFirst(form({}), ['Odd.'])).toMatchObject({ ok: false, ask: 'Odd.' });
    expect(askFirst(form({ sure: 'Odd.' }), ['Odd.'])).toBeNull();
    expect(askFirst(form({ sure: 'Odd.' }), ['Otherwise odd.'])).toMatchObject({ ok: false });
  });
});

describe('a plan that was sprayed', () => {
  async function kept(more: Parameters<typeof typedPlan>[0] = {}) {
    const lawn = await testLawn();
    const { id: plotId } = await plot(lawn, 'A');
    const iron = await product('Iron');
    const typed = typedPlan({
      plotIds: [plotId],
      carrier: { value: '8', unit: 'L/100m2' },
      tank: { value: '15', unit: 'L' },
      items: [byRate(iron.id, '0.19', 'g/m2')],
      ...more,
    });
    const data = new FormData();
    const put = (name: string, value: unknown): void => {
      if (Array.isArray(value))
        value.forEach((one, at) => (typeof one === 'string' ? data.append(name, one) : put(`${name}.${at}`, one)));
      else if (typeof value === 'object' && value !== null)
        for (const [key, part] of Object.entries(value)) put(name === '' ? key : `${name}.${key}`, part);
      else if (value !== false) data.append(name, String(value));
    };
    put('', typed);
    const parsed = parseForm(PlanForm, data);
    if (!parsed.ok) throw new Error(parsed.message);
    const plan = await keepPlan(lawn.id, parsed.value, new Date('2026-05-20T12:00Z'));
    if (!plan.ok) throw new Error(plan.message);
    return { lawn, id: plan.sprayId };
  }
  const done = (parts: Record<string, string>) => {
    const parsed = parseForm(DoneForm, form({ startedLocal: '2026-05-20T19:05', ...parts }));
    if (!parsed.ok) throw new Error(parsed.message);
    return parsed.value;
  };

  test('19 g planned and 19 kg measured is asked about; 25 g is not; and 19 g are typed in grams', async () => {
    const { id } = await kept();
    const itemId = (await findSpray(id))?.items[0]?.id ?? '';
    const doubts = (value: string, unit: string) =>
      doubtsOfDone(id, done({ 'items.0.itemId': itemId, 'items.0.actual.value': value, 'items.0.actual.unit': unit }));
    expect(await doubts('19', 'kg')).toEqual(['Iron: 19 kg measured into the tank, 1000 times the 19 g planned.']);
    expect(await doubts('1.9', 'g')).toEqual(['Iron: 1.9 g measured into the tank, 1/10 of the 19 g planned.']);
    expect(await doubts('25', 'g')).toEqual([]);
    expect(measuredOut({ massKg: 0.019, volumeL: null }, 'dry', 'metric').unit).toBe('g');
    expect(measuredOut({ massKg: 0.019, volumeL: null }, 'dry', 'us-customary').unit).toBe('oz');
    expect(measuredOut({ massKg: null, volumeL: 0.2 }, 'liquid', 'us-customary').unit).toBe('us-fl-oz');
  });

  test('more can’t be left than was mixed, nor can it have been sprayed tomorrow', async () => {
    const { id } = await kept();
    expect(await sprayFromPlan(id, done({ 'leftover.value': '99', 'leftover.unit': 'us-gal' }), now)).toEqual({
      ok: false,
      field: 'leftover',
      message: 'Left in the tank: expected at most the 8 L that were mixed, got 375 L',
    });
    expect(await sprayFromPlan(id, done({}), new Date('2026-05-19T12:00Z'))).toMatchObject({
      ok: false,
      field: 'startedLocal',
    });
    expect((await findSpray(id))?.state).toBe('planned');
  });

  test('keeps of its typed weather what nobody typed anew', async () => {
    const { id } = await kept({
      airTemp: { value: '21', unit: 'degC' },
      relHumidityPercent: '60',
      wind: { value: '2', unit: 'm/s' },
    });
    expect(await sprayFromPlan(id, done({ 'airTemp.value': '24', 'airTemp.unit': 'degC' }), now)).toEqual({ ok: true });
    expect(await findSpray(id)).toMatchObject({
      airTempC: 24,
      relHumidityPercent: 60,
      windMPerS: 2,
      weatherSource: 'typed',
    });
  });

  test('keeps the weather that was typed for it, until the hours come', async () => {
    const { lawn, id } = await kept({
      airTemp: { value: '21', unit: 'degC' },
      relHumidityPercent: '60',
      wind: { value: '2', unit: 'm/s' },
    });
    expect(await sprayFromPlan(id, done({}), now)).toEqual({ ok: true });
    expect(await findSpray(id)).toMatchObject({
      airTempC: 21,
      relHumidityPercent: 60,
      windMPerS: 2,
      weatherSource: 'plan',
    });
    const spray = (await findSpray(id))!;
    // A correction of the note leaves it, too.
    await logSpray(
      lawn.id,
      entry({
        startedLocal: '2026-05-20T19:05',
        plotIds: spray.plots.map((one) => one.plotId),
        items: [{ productId: spray.items[0]!.productId, rate: { value: 0.19, unit: 'g/m2' } }],
        note: 'calm',
      }),
      id,
      now,
    );
    expect(await findSpray(id)).toMatchObject({ note: 'calm', airTempC: 21, weatherSource: 'plan' });
    await addWeatherHours(lawn.id, [
      {
        hourStart: new Date('2026-05-20T23:00:00Z'),
        source: 'logger',
        airTempC: 17,
        relHumidityPercent: 70,
        windMPerS: 1,
        windHeightM: 2,
      },
    ]);
    await attachWeather(lawn.id, spray.startedAt, spray.startedAt);
    expect(await findSpray(id)).toMatchObject({ airTempC: 17, relHumidityPercent: 70, weatherSource: 'hours' });
  });
});

describe('a spray whose product or plot has gone since', () => {
  test('can still be edited, and loses neither', async () => {
    const lawn = await testLawn();
    const [a, b] = [await plot(lawn, 'A'), await plot(lawn, 'B')];
    const iron = await product('Iron');
    const items = [{ productId: iron.id, rate: { value: 2, unit: 'g/m2' as const } }];
    const logged = await logSpray(lawn.id, entry({ plotIds: [a.id, b.id], items }), undefined, now);
    if (!logged.ok) throw new Error(logged.message);
    await binProduct(iron.id, now);
    await setBinned('plot', b.id, now);
    expect(await listProducts()).toEqual([]);
    expect(
      await logSpray(lawn.id, entry({ plotIds: [a.id, b.id], items, note: 'calm' }), logged.sprayId, now),
    ).toMatchObject({ ok: true });
    expect(await findSpray(logged.sprayId)).toMatchObject({
      note: 'calm',
      items: [{ productId: iron.id }],
      plots: expect.arrayContaining([
        expect.objectContaining({ plotId: a.id }),
        expect.objectContaining({ plotId: b.id }),
      ]),
    });
    expect(await logSpray(lawn.id, entry({ plotIds: [a.id], items }), undefined, now)).toMatchObject({
      ok: false,
      field: 'items.0.productId',
    });
  });
});

describe('a note put right in a spray', () => {
  const items = (productId: string) => [{ productId, rate: { value: 10, unit: 'g/L' as const } }];
  test('leaves carrier, water and area as they were that day, whatever was changed on the lawn since', async () => {
    const lawn = await testLawn({ waterPh: 7.9, waterAlkalinityMgPerLCaCO3: 180 });
    const a = await plot(lawn, 'A');
    const sprayer = await testSprayer(lawn.id);
    const iron = await product('Iron');
    const said = {
      plotIds: [a.id],
      sprayerId: sprayer.id,
      items: items(iron.id),
      carrierLPerHa: null,
      carrierEnteredValue: null,
      carrierEnteredUnit: null,
    };
    const logged = await logSpray(lawn.id, entry(said), undefined, now);
    if (!logged.ok) throw new Error(logged.message);
    const before = await findSpray(logged.sprayId);
    expect(before).toMatchObject({ carrierLPerHa: 800, waterPh: 7.9 });
    await setCarrier(sprayer.id, { carrierLPerHa: 400, carrierEnteredValue: 4, carrierEnteredUnit: 'L/100m2' });
    const { id, ...facts } = lawn;
    await updateLawn(id, { ...facts, waterPh: 6.1, waterAlkalinityMgPerLCaCO3: 20 });
    await updatePlot(a.id, { ...a, areaM2: 50 });
    expect(await logSpray(lawn.id, entry({ ...said, note: 'calm' }), logged.sprayId, now)).toMatchObject({ ok: true });
    const after = await findSpray(logged.sprayId);
    expect(after).toMatchObject({
      note: 'calm',
      carrierLPerHa: 800,
      waterPh: 7.9,
      waterAlkalinityMgPerLCaCO3: 180,
      plots: [{ plotId: a.id, areaM2: 100 }],
      items: [{ actualKg: before!.items[0]!.actualKg, rateKgPerHa: before!.items[0]!.rateKgPerHa }],
    });
  });

  test('leaves where the wind came from, as it was typed when the plan was sprayed', async () => {
    const lawn = await testLawn();
    const a = await plot(lawn, 'A');
    const iron = await product('Iron');
    const spray = await createSpray(
      lawn.id,
      {
        state: 'done',
        startedAt: new Date('2026-05-20T23:00Z'),
        airTempC: 21,
        windMPerS: 2,
        windFromDeg: 90,
        weatherSource: 'typed',
      },
      [{ productId: iron.id, rateEnteredValue: 2, rateEnteredUnit: 'g/m2', rateKgPerHa: 20, rateLPerHa: null }],
      [{ plotId: a.id, areaM2: 100 }],
    );
    const again = (more: Partial<SprayEntry>) =>
      logSpray(
        lawn.id,
        entry({
          plotIds: [a.id],
          items: [{ productId: iron.id, rate: { value: 2, unit: 'g/m2' } }],
          airTempC: 21,
          ...more,
        }),
        spray.id,
        now,
      );
    await again({ windMPerS: 2, note: 'calm' });
    expect(await findSpray(spray.id)).toMatchObject({ note: 'calm', windFromDeg: 90 });
    await again({ windMPerS: null });
    expect(await findSpray(spray.id)).toMatchObject({ windMPerS: null, windFromDeg: null });
  });
});

test('the check among the plots sprayed, and two plots on one ground, are asked about before a spray is written down', async () => {
  const lawn = await testLawn();
  const check = await plot(lawn, 'K', { isCheck: true, groundPlace: 'apart' });
  const front = await plot(lawn, 'Front', { groundPlace: 'apart' });
  const strip = await plot(lawn, 'Strip', { areaM2: 10, groundPlace: 'inside', insidePlotId: front.id });
  const doubts = (plotIds: string[], sprayId?: string) => doubtsOfSpray(lawn.id, entry({ plotIds }), sprayId);
  expect(await doubts([front.id])).toEqual([]);
  expect(await doubts([check.id, front.id, strip.id])).toEqual([
    'K is the check: once it is sprayed, nothing says any more what would have happened without.',
    'Strip and Front share ground: it counts twice in the amounts, and gets the spray twice if both are walked.',
  ]);
  // Who said so before isn't asked again.
  const logged = await logSpray(lawn.id, entry({ plotIds: [check.id, front.id, strip.id] }), undefined, now);
  if (!logged.ok) throw new Error(logged.message);
  expect(await doubts([check.id, front.id, strip.id], logged.sprayId)).toEqual([]);
});

describe('the plots ticked in a new spray', () => {
  test('are none of several that were never sprayed, the only one beside the check, and those of the last spray but a trial’s', async () => {
    const lawn = await testLawn();
    const check = await plot(lawn, 'Check', { isCheck: true });
    const front = await plot(lawn, 'Front');
    expect(await usualPlots(lawn.id)).toEqual([front.id]);
    const back = await plot(lawn, 'Back');
    expect(await usualPlots(lawn.id)).toEqual([]);
    await logSpray(lawn.id, entry({ plotIds: [back.id, check.id] }), undefined, now);
    expect(await usualPlots(lawn.id)).toEqual([back.id]);
    const trial = await laidOut(
      lawn,
      entryOf({
        design: 'paired-strips',
        treatments: [
          { name: 'Unsprayed', isCheck: true, onSubplots: false, items: [] },
          {
            name: 'Iron',
            isCheck: false,
            onSubplots: false,
            items: [{ productId: (await product('Iron')).id, rate: { value: 1, unit: 'g/m2' } }],
          },
        ],
      }),
    );
    await createSpray(
      lawn.id,
      { state: 'done', startedAt: new Date('2026-05-25T12:00Z') },
      [],
      trial.plots.map((one) => ({ plotId: one.plotId, areaM2: 1 })),
    );
    expect(await usualPlots(lawn.id)).toEqual([back.id]);
  });
});

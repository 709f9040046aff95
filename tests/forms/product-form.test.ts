import { describe, expect, test } from 'vitest';
import { parseForm } from '@/lib/forms/fields';
import { ProductForm } from '@/lib/forms/product-form';

function read(parts: Record<string, string>) {
  const data = new FormData();
  for (const [name, value] of Object.entries({ name: 'Thing', form: 'dry', role: 'nitrogen', ...parts }))
    data.append(name, value);
  return parseForm(ProductForm, data);
}
const errors = (parts: Record<string, string>) => {
  const parsed = read(parts);
  return parsed.ok ? {} : parsed.errors;
};

describe('a product as its label prints it', () => {
  test('label limits, composition and price come out, what was typed beside the canonical value', () => {
    const parsed = read({
      'labelMax.value': '0.5',
      'labelMax.unit': 'lb/1000ft2',
      'seasonCap.value': '2',
      'seasonCap.unit': 'lb/1000ft2',
      seasonMostApplications: '4',
      minIntervalDays: '14',
      'labelLeastCarrier.value': '1',
      'labelLeastCarrier.unit': 'us-gal/1000ft2',
      'composition.0.substance': 'urea',
      'composition.0.percent': '98,5',
      'composition.1.substance': '',
      'composition.1.percent': '',
      mixingKind: 'soluble salt',
      priceAmount: '20',
      'pricePer.value': '50',
      'pricePer.unit': 'lb',
      priceCurrency: 'USD',
    });
    expect(parsed).toMatchObject({
      ok: true,
      value: {
        labelMaxEnteredValue: 0.5,
        labelMaxEnteredUnit: 'lb/1000ft2',
        seasonMostApplications: 4,
        minIntervalDays: 14,
        mixingKind: 'soluble salt',
        composition: [{ species: 'urea', massShare: 0.985 }],
      },
    });
    expect(parsed.ok ? parsed.value.labelMaxRateKgPerHa : null).toBeCloseTo(24.412, 3);
    expect(parsed.ok ? parsed.value.labelLeastCarrierLPerHa : null).toBeCloseTo(407.46, 2); // 1 gal/1000 ft² (exact definitions)
  });
  test('the three numbers on the bag are an analysis, and what is typed below goes before them', () => {
    expect(read({ grade: '12-4-8' })).toMatchObject({
      ok: true,
      value: { nOtherPercent: 12, nUreaPercent: 0, p2o5Percent: 4, k2oPercent: 8 },
    });
    expect(read({ grade: '46 – 0 – 0', nUreaPercent: '46' })).toMatchObject({
      ok: true,
      value: { nOtherPercent: 0, nUreaPercent: 46 },
    });
    expect(errors({ grade: '21-0-0', nAmmoniacalPercent: '12' })['grade']).toBe(
      'Three numbers on the bag: expected the nitrogen that the parts below add up to, 12 %, got 21 %',
    );
    expect(errors({ grade: '21' })['grade']).toMatch(
      /expected nitrogen, phosphate and potash such as 12-4-8, got '21'/,
    );
  });
  test('an empty composition is unknown, not water', () => {
    const parsed = read({ 'composition.0.substance': '', 'composition.0.percent': '' });
    expect(parsed).toMatchObject({ ok: true, value: { composition: null, mixingKind: null } });
  });
  // prettier-ignore
  test.each<[string, Record<string, string>, string, RegExp]>([
    ['a weight rate of a liquid without a density', { form: 'liquid', 'labelRate.value': '3', 'labelRate.unit': 'oz/1000ft2' }, 'density', /^Density: expected one/],
    ['an analysis above 100 %', { nUreaPercent: '60', k2oPercent: '60' }, 'nAmmoniacalPercent', /at most 100 percent in all, got 120/],
    ['shares above 100 %', { 'composition.0.substance': 'urea', 'composition.0.percent': '70', 'composition.1.substance': 'water', 'composition.1.percent': '40' }, 'composition.0.percent', /at most 100 %/],
    ['a substance without a share', { 'composition.0.substance': 'urea', 'composition.0.percent': '' }, 'composition.0.percent', /got no share/],
    ['a negative rate', { 'labelMax.value': '-1', 'labelMax.unit': 'lb/1000ft2' }, 'labelMax', /above 0.*got '-1'/],
    ['a price without a pack', { priceAmount: '12' }, 'pricePer', /got no pack/],
    ['half an application', { seasonMostApplications: '2.5' }, 'seasonMostApplications', /whole number/],
    ['a way of mixing nobody knows', { mixingKind: 'magic' }, 'mixingKind', /./],
  ])('%s gets a sentence at its field', (_, parts, field, sentence) => {
    expect(errors(parts)[field]).toMatch(sentence);
  });
});

import { describe, expect, test } from 'vitest';
import type { z } from 'zod';
import { expectCall, idOf } from '@/lib/forms/action-call';
import { CardsForm } from '@/lib/forms/cards-form';
import { wholeArgument } from '@/lib/forms/command-line';
import { readDemoSetting } from '@/lib/forms/demo-setting';
import { LandmarkForm, sightingsField } from '@/lib/forms/landmark-form';
import { MarkForm } from '@/lib/forms/mark-form';
import { airTempField, carrierField, leftoverField, sprayedVolumeField } from '@/lib/forms/measures';
import { MIN_PASSPHRASE, NewPersonForm, RightsForm } from '@/lib/forms/person-form';
import { AskServiceForm, readServiceSettings } from '@/lib/forms/weather/weather-service';

const ID = 'cmabcdef0000000000000000a';
const said = (schema: z.ZodType, value: unknown) => schema.safeParse(value).error?.issues[0]?.message;

describe('an amount has one limit, whichever unit is picked', () => {
  test('pegs stand at most 10 m outside: 32 ft are, 33 ft are not', () => {
    expect(CardsForm.parse({ outside: { value: '32', unit: 'ft' } }).outsideM).toBeCloseTo(9.7536, 9);
    expect(said(CardsForm, { outside: { value: '33', unit: 'ft' } })).toBe(
      'How far outside the corners: expected at most 10 m (32.8 ft), got 33 ft',
    );
  });
  test('air of 120 °F can be, of 120 °C cannot', () => {
    expect(airTempField('Air').parse({ value: '120', unit: 'degF' })?.canonical).toBeCloseTo(48.9, 1);
    expect(said(airTempField('Air'), { value: '120', unit: 'degC' })).toMatch(/^Air: expected .* got 120/);
  });
  test('nothing may be left over, but not nothing sprayed', () => {
    expect(leftoverField('Left').parse({ value: '0', unit: 'L' })?.canonical).toBe(0);
    expect(said(sprayedVolumeField('Sprayed'), { value: '0', unit: 'L' })).toMatch(/^Sprayed: expected/);
  });
  test('an empty field is nothing known', () => {
    expect(carrierField('Carrier').parse({ value: '', unit: 'L/ha' })).toBeNull();
  });
});

describe('people', () => {
  test(`a passphrase has ${MIN_PASSPHRASE} characters at least`, () => {
    expect(NewPersonForm.parse({ name: 'Ann', passphrase: '1234567890' })).toMatchObject({ name: 'Ann' });
    expect(said(NewPersonForm, { name: 'Ann', passphrase: '123456789' })).toBe(
      'First passphrase: expected at least 10 characters, got fewer',
    );
  });
  test('a name is made of letters one can see: none that turn or hide text', () => {
    expect(said(NewPersonForm, { name: 'An\u202En', passphrase: '1234567890' })).toBe(
      'Name: expected letters one can see, got others',
    );
  });
  test('rights are given lawn by lawn, none where none is said', () => {
    expect(RightsForm.parse({ right: { [ID]: 'works' } })).toMatchObject({ right: { [ID]: 'works' } });
    expect(RightsForm.parse({}).right).toEqual({});
    expect(RightsForm.safeParse({ right: { [ID]: 'owns' } }).success).toBe(false);
  });
});

describe('marks and things in a photo', () => {
  test('a mark is open, confirmed or dismissed, and of a kind there is', () => {
    expect(MarkForm.parse({ id: ID, state: 'confirmed', kind: 'burn' })).toEqual({
      id: ID,
      state: 'confirmed',
      kind: 'burn',
    });
    expect(MarkForm.safeParse({ id: ID, state: 'gone' }).success).toBe(false);
    expect(MarkForm.safeParse({ id: ID, state: 'open', kind: 'stain' }).success).toBe(false);
  });
  test('a thing lies at two numbers, or is not in the photo', () => {
    const from = { photoId: ID, at: [1, 2] };
    const seen = JSON.stringify([
      { landmarkId: null, from, at: [3, 4] },
      { landmarkId: ID, from, at: null },
    ]);
    expect(sightingsField.parse(seen).map(({ at }) => at)).toEqual([[3, 4], null]);
    expect(sightingsField.parse(undefined)).toEqual([]);
    expect(said(LandmarkForm, { name: 'Stake', at: '{' })).toBe(
      'Place: expected the page’s own JSON, got something else',
    );
    expect(said(LandmarkForm, { name: 'Stake', at: '[1]' })).toBeDefined();
  });
});

describe('the weather service', () => {
  test('is asked for two days or none, in order, for a year at most', () => {
    const ask = (from?: string, to?: string) => said(AskServiceForm, { lawn: ID, from, to });
    expect(ask()).toBeUndefined();
    expect(ask('2026-05-01', '2026-05-31')).toBeUndefined();
    expect(ask('2026-05-01')).toBe('History: expected two days, got one');
    expect(ask('2026-05-31', '2026-05-01')).toBe('History: expected a last day after the first');
    expect(ask('2024-01-01', '2026-01-01')).toBe('History: expected at most a year at a time');
  });
  test('settings that can no longer be read count as none', () => {
    expect(readServiceSettings({ enabled: true })).toBeNull();
  });
});

describe('what an action was given', () => {
  test('is entries of this diary and a form, or the call is refused with a sentence', () => {
    expect(() =>
      expectCall({ ids: [ID], optionalIds: [null, ID], keys: ['spray-new'], form: new FormData() }),
    ).not.toThrow();
    expect(() => expectCall({ ids: [{}] })).toThrow('Expected an entry of this diary, got something else.');
    expect(() => expectCall({ optionalIds: ['../x'] })).toThrow('Expected an entry of this diary');
    expect(() => expectCall({ keys: ['a\nb'] })).toThrow('Expected the key of a draft of this diary');
    expect(() => expectCall({ form: { id: ID } })).toThrow('Expected a form of this diary’s pages');
  });
  test('an identifier in a form is one, or is refused', () => {
    const form = new FormData();
    expect(() => idOf(form)).toThrow('Expected text, got nothing');
    form.set('id', '../x');
    expect(() => idOf(form)).toThrow("Expected an entry of this diary, got '../x'");
    form.set('id', ID);
    expect(idOf(form)).toBe(ID);
  });
});

test('a command’s number is whole and within its limits', () => {
  const limits = { min: 1, max: 100 };
  expect(wholeArgument('runs', '12', limits)).toBe(12);
  expect(wholeArgument('runs', undefined, { ...limits, otherwise: 5 })).toBe(5);
  for (const text of ['0', '101', '1.5', '-3', 'ten', ''])
    expect(() => wholeArgument('runs', text, limits)).toThrow(
      `--runs: expected a whole number from 1 to 100, got '${text}'`,
    );
  expect(() => wholeArgument('runs', undefined, limits)).toThrow('got nothing');
});

test('a memory of the demo that can’t be read is none', () => {
  expect(readDemoSetting({ lawnId: ID, productIds: [ID] })).toEqual({ lawnId: ID, productIds: [ID] });
  for (const value of [null, {}, { lawnId: ID, productIds: 'all' }]) expect(readDemoSetting(value)).toBeNull();
});

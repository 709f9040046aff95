import { describe, expect, test } from 'vitest';
import { createPlot } from '@/lib/diary/plots';
import { createSpray } from '@/lib/diary/sprays';
import { addWeatherHours } from '@/lib/diary/weather-hours';
import {
  hasCalendarLink,
  lawnOfCalendarToken,
  makeCalendarLink,
  revokeCalendarLink,
} from '@/lib/work/diary/calendar-link';
import { dueOnLawn, lawnCalendar } from '@/lib/work/diary/lawn-due';
import { plainLawn, useFreshDiary } from '../support/diary';
import { plainProduct } from '../support/trial';

useFreshDiary();

async function sprayedLawn() {
  const lawn = await plainLawn({ name: 'Secret place', timeZone: 'UTC', unitSystem: 'metric' });
  const plot = await createPlot(lawn.id, {
    name: 'C; the, far one',
    isCheck: false,
    polygonM: null,
    areaM2: 10,
    note: '',
  });
  const iron = await plainProduct({ name: 'Iron salt', fePercent: 20, role: 'iron', minIntervalDays: 10 });
  const other = await plainProduct({ name: 'Other iron', fePercent: 6, role: 'iron' });
  const put = (productId: string, at: string) =>
    createSpray(
      lawn.id,
      { state: 'done', startedAt: new Date(at), endedAt: new Date(Date.parse(at) + 600_000) },
      [{ productId, rateEnteredValue: 60, rateEnteredUnit: 'g/100m2', rateKgPerHa: 6, rateLPerHa: null }],
      [{ plotId: plot.id, areaM2: 10 }],
    );
  return { lawn, iron, other, put };
}
const now = new Date('2026-05-11T12:00:00Z');

describe('what is due on a lawn', () => {
  test('photo days of its spray and the instant at which the label’s interval is over', async () => {
    const { lawn, iron, put } = await sprayedLawn();
    await put(iron.id, '2026-05-08T08:00:00Z');
    const due = await dueOnLawn(lawn, now);
    expect(due.map(({ kind, on, state }) => [kind, on, state])).toEqual([
      ['photos', '2026-05-09', 'missing'],
      ['photos', '2026-05-11', 'today'],
      ['photos', '2026-05-15', 'later'],
      ['product', '2026-05-18', 'later'],
      ['photos', '2026-05-22', 'later'],
    ]);
    expect(due.find(({ kind }) => kind === 'product')?.atMs).toBe(Date.parse('2026-05-18T08:10:00Z'));
  });

  test('iron of another product sets the interval back as well', async () => {
    const { lawn, iron, other, put } = await sprayedLawn();
    await put(iron.id, '2026-05-08T08:00:00Z');
    await put(other.id, '2026-05-10T08:00:00Z');
    expect((await dueOnLawn(lawn, now)).find(({ kind }) => kind === 'product')).toMatchObject({
      on: '2026-05-20',
      product: { id: iron.id, intervalDays: 10 },
    });
  });

  test('the calendar file has each thing to come once, escaped, without the lawn’s name or place (RFC 5545, 3.3.11)', async () => {
    const { lawn, iron, put } = await sprayedLawn();
    await put(iron.id, '2026-05-08T08:00:00Z');
    const text = (await lawnCalendar(lawn, now)).replaceAll('\r\n ', '');
    expect(text.match(/BEGIN:VEVENT/g)).toHaveLength(4);
    expect(text).toContain('SUMMARY:Photograph C\\; the\\, far one\r\n');
    expect(text).toContain('DTSTART;VALUE=DATE:20260515\r\n');
    expect(text).not.toContain('Secret');
    const uids = (of: string) => of.match(/^UID:.*$/gm);
    // Asked a day later, what is still to come has the same names.
    const later = (await lawnCalendar(lawn, new Date('2026-05-12T12:00:00Z'))).replaceAll('\r\n ', '');
    expect(uids(text)?.slice(1)).toEqual(uids(later)?.slice(-3));
  });
});

describe('the private calendar address', () => {
  test('opens its lawn until it is revoked or made anew; nothing else opens anything', async () => {
    const lawn = await plainLawn();
    const first = await makeCalendarLink(lawn.id);
    expect((await lawnOfCalendarToken(first))?.id).toBe(lawn.id);
    const second = await makeCalendarLink(lawn.id);
    expect(await lawnOfCalendarToken(first)).toBeNull();
    expect((await lawnOfCalendarToken(second))?.id).toBe(lawn.id);
    await revokeCalendarLink(lawn.id);
    expect(await hasCalendarLink(lawn.id)).toBe(false);
    for (const token of [second, '', 'x'.repeat(24), '../..', '__proto__'])
      expect(await lawnOfCalendarToken(token)).toBeNull();
  });
});

describe('a plan of the coming days', () => {
  test('takes its window from the hours known; without hours it names none', async () => {
    const lawn = await plainLawn({ timeZone: 'UTC', latitudeDeg: 45, longitudeDeg: 0, unitSystem: 'metric' });
    const plot = await createPlot(lawn.id, {
      name: 'C',
      isCheck: false,
      polygonM: null,
      areaM2: 10,
      note: '',
    });
    await createSpray(
      lawn.id,
      { state: 'planned', startedAt: new Date('2026-05-12T17:00:00Z'), carrierLPerHa: 800 },
      [],
      [{ plotId: plot.id, areaM2: 10 }],
    );
    expect((await dueOnLawn(lawn, now))[0]).toMatchObject({ kind: 'plan', on: '2026-05-12', plan: { window: null } });
    await addWeatherHours(
      lawn.id,
      Array.from({ length: 72 }, (_, i) => ({
        hourStart: new Date(Date.parse('2026-05-11T00:00:00Z') + i * 3_600_000),
        airTempC: 17,
        relHumidityPercent: 70,
        windMPerS: 1.5,
        windHeightM: 2,
        rainMm: 0,
        cloudPercent: 60,
        source: 'test',
      })),
    );
    const window = (await dueOnLawn(lawn, now))[0]?.plan?.window;
    expect(window?.verdict).toMatch(/suitable|doubtful/);
    expect(window!.fromMs).toBeGreaterThanOrEqual(now.getTime());
    expect(window!.toMs - window!.fromMs).toBeGreaterThanOrEqual(45 * 60_000);
  });
});

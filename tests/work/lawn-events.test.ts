import { describe, expect, test } from 'vitest';
import { listBinned, setBinned } from '@/lib/diary/bin';
import { createEvent, listEvents } from '@/lib/diary/lawn-events';
import { createPlot, updatePlot } from '@/lib/diary/plots';
import { LawnEventForm } from '@/lib/forms/lawn-event-form';
import { lastOf } from '@/lib/trial/lawn-event';
import { calendarMonths } from '@/lib/work/diary/calendar-months';
import { eventRecordsCsv } from '@/lib/work/diary/event-records';
import { eventsNear } from '@/lib/work/diary/events-near';
import { findInDiary } from '@/lib/work/diary/find';
import { logEvent } from '@/lib/work/diary/log-event';
import { momentsOfGrass } from '@/lib/work/diary/moment-events';
import { readTimeline } from '@/lib/work/diary/timeline';
import { useFreshDiary } from '../support/diary';
import { testLawn } from '../support/test-lawn';

useFreshDiary();

const at = (day: string) => new Date(`2026-05-${day}T12:00:00Z`);

async function lawnWithPlots() {
  const lawn = await testLawn();
  const plot = (name: string) =>
    createPlot(lawn.id, {
      name,
      isCheck: false,
      polygonM: null,
      areaM2: 10,
      note: '',
    });
  return { lawn, a: await plot('A'), b: await plot('B') };
}

describe('events near a plot', () => {
  test('are its own and the whole lawn’s, oldest first, and not another plot’s', async () => {
    const { lawn, a, b } = await lawnWithPlots();
    await createEvent(
      lawn.id,
      {
        kind: 'mowing',
        at: at('20'),
        mowingHeightMm: 60,
        mowingHeightEnteredValue: 60,
        mowingHeightEnteredUnit: 'mm',
        bladeSharpened: true,
      },
      [],
    );
    await createEvent(lawn.id, { kind: 'watering', at: at('19'), waterMm: 12 }, [a.id]);
    await createEvent(lawn.id, { kind: 'traffic', at: at('18'), detail: 'wheels', subject: 'skip lorry' }, [b.id]);
    const near = await eventsNear(lawn.id, [a.id], at('01'), at('31'));
    expect(near.map((event) => [event.kind, event.wholeLawn])).toEqual([
      ['watering', false],
      ['mowing', true],
    ]);
    expect(near[1]).toMatchObject({ heightMm: 60, bladeSharpened: true, directionDeg: null });
  });

  test('one at the span’s end is after it, one at its start within', async () => {
    const { lawn, a } = await lawnWithPlots();
    for (const day of ['10', '20']) await createEvent(lawn.id, { kind: 'mowing', at: at(day) }, []);
    expect((await eventsNear(lawn.id, [a.id], at('10'), at('20'))).map((event) => event.at)).toEqual([at('10')]);
  });

  test('the last of a kind is the last before the moment, on that plot', async () => {
    const { lawn, a, b } = await lawnWithPlots();
    await createEvent(lawn.id, { kind: 'mowing', at: at('10') }, [a.id]);
    await createEvent(lawn.id, { kind: 'mowing', at: at('12') }, [b.id]);
    await createEvent(lawn.id, { kind: 'mowing', at: at('14') }, [a.id]);
    const events = await listEvents(lawn.id);
    expect(lastOf('mowing', events, [a.id], at('01'), at('14'))?.at).toEqual(at('10'));
    expect(lastOf('mowing', events, [a.id], at('11'), at('14'))).toBeNull();
    expect(lastOf('watering', events, [a.id], at('01'), at('31'))).toBeNull();
  });
});

const typed = (more: object) => ({ atLocal: '2026-05-20T08:30', plotIds: [], note: '', ...more });

describe('writing an event down', () => {
  test('a mowing is kept as typed and in mm, its passes as one direction', async () => {
    const { lawn } = await lawnWithPlots();
    const entry = LawnEventForm.parse(
      typed({ kind: 'mowing', height: { value: '2.5', unit: 'in' }, directionDeg: '225', bladeSharpened: 'yes' }),
    );
    const logged = await logEvent(lawn.id, entry, at('21'));
    expect(logged.ok).toBe(true);
    const [event] = await listEvents(lawn.id);
    expect(event).toMatchObject({
      kind: 'mowing',
      directionDeg: 45,
      bladeSharpened: true,
      wholeLawn: true,
      typed: { mowingHeight: { value: 2.5, unit: 'in' } },
    });
    expect(event?.kind === 'mowing' && event.heightMm).toBeCloseTo(63.5, 9);
  });

  test('an event still to come is refused, and nothing is written', async () => {
    const { lawn } = await lawnWithPlots();
    const logged = await logEvent(
      lawn.id,
      LawnEventForm.parse(typed({ kind: 'rain', atLocal: '2031-05-20T08:30' })),
      at('21'),
    );
    expect(logged).toMatchObject({
      ok: false,
      field: 'atLocal',
      message: 'When: expected a time that has been, got 2031-05-20 08:30, which is still to come',
    });
    expect(await listEvents(lawn.id)).toEqual([]);
  });

  test('a height of cut has one limit, whichever unit was picked', () => {
    const cut = (value: string, unit: string) =>
      LawnEventForm.safeParse(typed({ kind: 'mowing', height: { value, unit } }));
    expect(cut('60', 'mm').success).toBe(true);
    expect(cut('3', 'in').success).toBe(true);
    const tooHigh = cut('60', 'in');
    expect(tooHigh.error?.issues[0]?.message).toBe('Height of cut: expected 0.0787 to 9.84 in, got 60');
  });

  test('an event changed to another kind keeps nothing of the old one', async () => {
    const { lawn, a } = await lawnWithPlots();
    const first = await logEvent(
      lawn.id,
      LawnEventForm.parse(typed({ kind: 'mowing', height: { value: '60', unit: 'mm' }, plotIds: a.id })),
      at('21'),
    );
    if (!first.ok) throw new Error(first.message);
    await logEvent(
      lawn.id,
      LawnEventForm.parse(typed({ kind: 'watering', water: { value: '12', unit: 'mm' } })),
      at('21'),
      first.eventId,
    );
    expect(await listEvents(lawn.id)).toMatchObject([
      { kind: 'watering', waterMm: 12, wholeLawn: true, typed: { mowingHeight: null } },
    ]);
  });
});

describe('an event on a plot that is in the bin', () => {
  test('stays on that plot when its note is changed, and goes to the whole lawn when a person unticks the rest', async () => {
    const { lawn, a, b } = await lawnWithPlots();
    const written = async (plotIds: string[], note: string, id?: string) => {
      const logged = await logEvent(
        lawn.id,
        LawnEventForm.parse(typed({ kind: 'watering', water: { value: '12', unit: 'mm' }, plotIds, note })),
        at('21'),
        id,
      );
      if (!logged.ok) throw new Error(logged.message);
      return logged.eventId;
    };
    const onA = await written([a.id], '');
    const onBoth = await written([a.id, b.id], '');
    await setBinned('plot', a.id, at('22'));
    await written([], 'by hand', onA);
    await written([], 'all of it', onBoth);
    expect((await listEvents(lawn.id)).map((event) => [event.note, event.wholeLawn]).sort()).toEqual([
      ['all of it', true],
      ['by hand', false],
    ]);
    await setBinned('plot', a.id, null);
    expect((await eventsNear(lawn.id, [b.id], at('01'), at('31'))).map((event) => event.note)).toEqual(['all of it']);
  });

  test('watered ground of a strip within it all the same', async () => {
    const { lawn, a, b } = await lawnWithPlots();
    await updatePlot(b.id, { ...b, groundPlace: 'inside', insidePlotId: a.id });
    await createEvent(lawn.id, { kind: 'watering', at: at('19'), waterMm: 12 }, [a.id]);
    await setBinned('plot', a.id, at('20'));
    const [moment] = await momentsOfGrass(lawn.id, [
      { plotIds: [b.id], takenAt: new Date('2026-05-19T15:00:00Z'), baselineAt: null },
    ]);
    expect(moment?.hoursSinceWater).toBe(3);
  });
});

describe('an event', () => {
  test('goes to the bin and comes back, and is nowhere meanwhile', async () => {
    const { lawn } = await lawnWithPlots();
    const event = await createEvent(
      lawn.id,
      { kind: 'traffic', at: at('18'), detail: 'wheels', subject: 'a lorry' },
      [],
    );
    await setBinned('event', event.id, at('19'));
    expect((await listBinned(lawn.id)).map((entry) => [entry.kind, entry.label])).toEqual([['event', 'a lorry']]);
    expect([await listEvents(lawn.id), (await readTimeline(lawn.id, { show: 'all' })).entries]).toEqual([[], []]);
    await setBinned('event', event.id, null);
    expect(await listEvents(lawn.id)).toHaveLength(1);
  });

  test('stands on the timeline, in the calendar, in what is found and in the CSV', async () => {
    const { lawn, a } = await lawnWithPlots();
    await createEvent(
      lawn.id,
      {
        kind: 'sighting',
        at: at('18'),
        detail: 'disease',
        subject: 'straw spots',
        sharePercent: 5,
        note: 'after the =rain',
      },
      [a.id],
    );
    const { entries } = await readTimeline(lawn.id, { show: 'events' });
    expect(entries.map((entry) => entry.kind)).toEqual(['event']);
    const { months } = (await calendarMonths(lawn, '2026-05', 1))!;
    expect(months[0]?.days.filter((day) => day.events > 0).map((day) => day.date)).toEqual(['2026-05-18']);
    const find = async (q: string) =>
      (await findInDiary(lawn, { q, in: 'all', from: null, to: null, kind: null, state: null })).events.length;
    expect([await find('straw'), await find('disease'), await find('moss')]).toEqual([1, 1, 0]);
    const csv = await eventRecordsCsv(lawn.id);
    expect(csv?.split('\r\n')[1]).toBe(
      '2026-05-18,08:00,America/New_York,sighting,A,,,,,,disease,straw spots,,,,,5,after the =rain',
    );
  });

  test('mown and watered since are told for the plots of a photo, and for ground they share', async () => {
    const { lawn, a, b } = await lawnWithPlots();
    const strip = await createPlot(lawn.id, {
      name: 'S',
      isCheck: false,
      polygonM: null,
      areaM2: 2,
      note: '',
      groundPlace: 'inside',
      insidePlotId: a.id,
    });
    await createEvent(lawn.id, { kind: 'mowing', at: at('15') }, [a.id]);
    await createEvent(lawn.id, { kind: 'watering', at: new Date('2026-05-20T10:00:00Z') }, []);
    const [baseline, taken] = [at('10'), at('20')];
    const momentOfGrass = async (plotIds: string[], takenAt: Date, baselineAt: Date) =>
      (await momentsOfGrass(lawn.id, [{ plotIds, takenAt, baselineAt }]))[0]!;
    expect(await momentOfGrass([strip.id], taken, baseline)).toEqual({
      hoursSinceWater: 2,
      mownSince: at('15'),
    });
    expect((await momentOfGrass([b.id], taken, baseline)).mownSince).toBeNull();
    expect((await momentOfGrass([a.id], taken, at('16'))).mownSince).toBeNull();
    expect((await momentOfGrass([a.id], at('25'), baseline)).hoursSinceWater).toBeNull();
  });
});

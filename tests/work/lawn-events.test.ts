import { describe, expect, test } from 'vitest';
import { createEvent, listEvents } from '@/lib/diary/lawn-events';
import { createPlot } from '@/lib/diary/plots';
import { lastOf } from '@/lib/trial/lawn-event';
import { eventsNear } from '@/lib/work/events-near';
import { useFreshDiary } from '../support/diary';
import { testLawn } from '../support/test-lawn';

useFreshDiary();

const at = (day: string) => new Date(`2026-05-${day}T12:00:00Z`);

async function lawnWithPlots() {
  const lawn = await testLawn();
  const plot = (name: string) => createPlot(lawn.id, { name, isCheck: false, polygonM: null, areaM2: 10, areaEnteredValue: null, areaEnteredUnit: null, note: '' });
  return { lawn, a: await plot('A'), b: await plot('B') };
}

describe('events near a plot', () => {
  test('are its own and the whole lawn’s, oldest first, and not another plot’s', async () => {
    const { lawn, a, b } = await lawnWithPlots();
    await createEvent(lawn.id, { kind: 'mowing', at: at('20'), mowingHeightMm: 60, mowingHeightEnteredValue: 60, mowingHeightEnteredUnit: 'mm', bladeSharpened: true }, []);
    await createEvent(lawn.id, { kind: 'watering', at: at('19'), waterMm: 12 }, [a.id]);
    await createEvent(lawn.id, { kind: 'traffic', at: at('18'), detail: 'wheels', subject: 'skip lorry' }, [b.id]);
    const near = await eventsNear(lawn.id, [a.id], at('01'), at('31'));
    expect(near.map((event) => [event.kind, event.wholeLawn])).toEqual([['watering', false], ['mowing', true]]);
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

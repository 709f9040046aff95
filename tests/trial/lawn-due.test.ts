import { describe, expect, test } from 'vitest';
import { isFinished } from '@/lib/trial/finished';
import { dueText, lawnDue, type LawnDueInput } from '@/lib/trial/lawn-due';

const C = { id: 'c', name: 'C' };
const B = { id: 'b', name: 'B' };
const spray = (id: string, on: string, ...plots: { id: string; name: string }[]) => ({ id, on, plots });
const input = (more: Partial<LawnDueInput>): LawnDueInput => ({
  today: '2026-05-11',
  sprays: [],
  photos: [],
  trials: [],
  intervals: [],
  plans: [],
  ...more,
});
const metric = { unitSystem: 'metric', timeZone: 'UTC' } as const;

describe('photos after a spray', () => {
  const sprays = [spray('s', '2026-05-08', C)];
  test('days 1, 3, 7 and 14: one missed, one today, two to come', () => {
    expect(lawnDue(input({ sprays })).map(({ on, state }) => [on, state])).toEqual([
      ['2026-05-09', 'missing'],
      ['2026-05-11', 'today'],
      ['2026-05-15', 'later'],
      ['2026-05-22', 'later'],
    ]);
  });
  test('a photo that shows the plot settles its day; one a day late still does, from day 7 on', () => {
    const photos = [
      { on: '2026-05-09', plotIds: ['c'] },
      { on: '2026-05-11', plotIds: ['c'] },
      { on: '2026-05-16', plotIds: ['c'] },
    ];
    expect(lawnDue(input({ sprays, photos, today: '2026-05-16' })).map(({ on }) => on)).toEqual(['2026-05-22']);
    expect(lawnDue(input({ sprays, photos: photos.slice(0, 2), today: '2026-05-16' }))[0]).toMatchObject({
      on: '2026-05-15',
      state: 'late',
    });
  });
  test('a photo of another plot doesn’t settle it; one without outlines may', () => {
    expect(lawnDue(input({ sprays, photos: [{ on: '2026-05-09', plotIds: ['b'] }] }))[0]).toMatchObject({
      on: '2026-05-09',
      state: 'missing',
    });
    expect(lawnDue(input({ sprays, photos: [{ on: '2026-05-09', plotIds: [] }] }))[0]).toMatchObject({
      on: '2026-05-11',
    });
  });
  test('once a plot is sprayed again the earlier spray asks for nothing more of it', () => {
    const twice = [spray('s', '2026-05-08', B, C), spray('t', '2026-05-14', C)];
    const due = lawnDue(input({ sprays: twice, today: '2026-05-14' }));
    expect(due.find(({ on }) => on === '2026-05-15')?.reasons).toEqual([
      { of: 'spray', id: 's', on: '2026-05-08', day: 7 },
      { of: 'spray', id: 't', on: '2026-05-14', day: 1 },
    ]);
    expect(due.find(({ on }) => on === '2026-05-15')?.plots).toEqual(['B', 'C']);
    expect(due.find(({ on }) => on === '2026-05-22')?.plots).toEqual(['B']);
  });
  test('what was missed more than two weeks ago is not brought up', () => {
    expect(lawnDue(input({ sprays, today: '2026-06-10' }))).toEqual([]);
  });
  test('one walk is one thing: a spray’s day and a trial’s on one date stand together, each with its reason', () => {
    const days = [
      {
        kind: 'photo' as const,
        plannedOn: '2026-05-11',
        dayOfTrial: 28,
        state: 'due' as const,
        missingPlots: ['A', 'C'],
      },
    ];
    const due = lawnDue(input({ sprays, trials: [{ id: 't', name: 'How much', days }] })).filter(
      ({ on }) => on === '2026-05-11',
    );
    expect(due).toHaveLength(1);
    expect(due[0]?.plots).toEqual(['C', 'A']);
    expect(dueText(due[0]!, metric)).toEqual({
      title: 'Photograph C and A',
      why: 'Day 3 after the spray of 8 May 2026 and How much, day 28. Same place, same hour, the check in the same photo.',
    });
  });
});

describe('other things due', () => {
  const at = (iso: string) => Date.parse(iso);
  test('plots whose label interval ends on one day stand together; what is allowed already isn’t listed', () => {
    const iron = { productId: 'fe', name: 'Iron', intervalDays: 10 };
    const intervals = [
      { ...iron, plot: B, allowedOn: '2026-05-18', allowedAtMs: at('2026-05-18T08:26:00Z') },
      { ...iron, plot: C, allowedOn: '2026-05-18', allowedAtMs: at('2026-05-18T10:50:00Z') },
      { ...iron, plot: { id: 'd', name: 'D' }, allowedOn: '2026-05-02', allowedAtMs: at('2026-05-02T10:50:00Z') },
    ];
    const [only, ...more] = lawnDue(input({ intervals }));
    expect(more).toEqual([]);
    expect(only).toMatchObject({ kind: 'product', on: '2026-05-18', plots: ['B', 'C'] });
    const { title, why } = dueText(only!, metric);
    expect(title).toBe('Iron: its label’s 10 days are over on B and C');
    // The later of the two hours, so that neither plot comes too soon; and no call to spray.
    expect(why).toBe('From Mon 18 May 2026, 10:50. No reason to spray by itself; the label’s other limits hold.');
  });
  test('a US reader reads month first and twelve hours', () => {
    const [plan] = lawnDue(
      input({ plans: [{ id: 'p', on: '2026-05-12', atMs: at('2026-05-12T19:30:00Z'), plots: [C] }] }),
    );
    expect(dueText(plan!, { unitSystem: 'us-customary', timeZone: 'UTC' }).why).toBe(
      'Begins Tue, May 12, 2026, 7:30 PM.',
    );
  });
  test('a plan says when the weather known opens a window for it, and with what doubt', () => {
    const plan = { id: 'p', on: '2026-05-12', atMs: at('2026-05-12T19:30:00Z'), plots: [C] };
    const why = (verdict: 'suitable' | 'doubtful') =>
      dueText(
        lawnDue(
          input({
            plans: [
              { ...plan, window: { fromMs: at('2026-05-12T18:00:00Z'), toMs: at('2026-05-12T20:00:00Z'), verdict } },
            ],
          }),
        )[0]!,
        metric,
      ).why;
    expect(why('suitable')).toBe(
      'Begins Tue 12 May 2026, 19:30. By the weather known a window opens Tue 12 May 2026, 18:00 to 20:00.',
    );
    expect(why('doubtful')).toContain('the best there is, with doubts, Tue 12 May 2026, 18:00 to 20:00');
    expect(dueText(lawnDue(input({ plans: [plan] }))[0]!, metric).why).toBe('Begins Tue 12 May 2026, 19:30.');
  });
  test('ratings missed and done: the one is named, the other is not', () => {
    const days = (['missed', 'done'] as const).map((state, i) => ({
      kind: 'rating' as const,
      plannedOn: `2026-05-0${8 + i}`,
      dayOfTrial: i,
      state,
      missingPlots: ['A'],
    }));
    expect(lawnDue(input({ trials: [{ id: 't', name: 'T', days }] })).map(({ kind, state }) => [kind, state])).toEqual([
      ['ratings', 'missing'],
    ]);
  });
  test('the same thing keeps its key from day to day, and no key comes twice', () => {
    const keys = (today: string) =>
      lawnDue(input({ today, sprays: [spray('s', '2026-05-08', C), spray('t', '2026-05-01', B)] })).map(
        ({ key }) => key,
      );
    expect(keys('2026-05-11')).toContain('photos-2026-05-15');
    expect(keys('2026-05-15')).toContain('photos-2026-05-15');
    for (const today of ['2026-05-09', '2026-05-11', '2026-05-15', '2026-05-16'])
      expect(new Set(keys(today)).size).toBe(keys(today).length);
  });
});

describe('a finished trial', () => {
  const trial = { startsOn: '2026-04-13', photoDays: [1, 3, 7, 12] };
  test('lasts to its last photo day, and a week past a later round of sprays; two weeks after that it is put away', () => {
    // Its last photo is due on 26 April; with a round on 8 May the week after ends on 15 May.
    expect(isFinished(trial, ['2026-04-14', '2026-05-08'], '2026-05-29')).toBe(false);
    expect(isFinished(trial, ['2026-04-14', '2026-05-08'], '2026-05-30')).toBe(true);
  });
  test('without a later round it is put away two weeks after the last photo; one never sprayed is not', () => {
    expect(isFinished(trial, ['2026-04-14'], '2026-05-10')).toBe(false);
    expect(isFinished(trial, ['2026-04-14'], '2026-05-11')).toBe(true);
    expect(isFinished(trial, [], '2027-01-01')).toBe(false);
  });
});

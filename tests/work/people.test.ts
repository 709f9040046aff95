import { describe, expect, test } from 'vitest';
import { addDoorSession, hasDoorSession } from '@/lib/diary/door-sessions';
import { hasPeople, listPeople, namesOfPeople, personByName, personOfSession } from '@/lib/diary/people';
import { createEvent, findEvent } from '@/lib/diary/lawn-events';
import { createPlot } from '@/lib/diary/plots';
import { addRatings } from '@/lib/diary/ratings';
import { createSpray } from '@/lib/diary/sprays';
import { duringVisit, type SignedInPerson, type Visit, type Who } from '@/lib/visit';
import {
  addSomebody,
  changeOwnPassphrase,
  changeRights,
  putAway,
  resetPassphrase,
  takeBack,
} from '@/lib/work/people/people';
import { rightToPutBack } from '@/lib/work/diary/bin';
import { expectRight, lawnsToSee, mayDo } from '@/lib/work/people/rights';
import { ratingSittings } from '@/lib/work/trials/rate-blind';
import { readTrial } from '@/lib/work/trials/trial-record';
import { plainLawn, useFreshDiary } from '../support/diary';
import { entryOf, laidOut, plainProduct } from '../support/trial';

useFreshDiary();
const now = new Date('2026-05-01T12:00:00Z');
const as = <T>(who: Who, work: (visit: Visit) => Promise<T>): Promise<T> => {
  const visit: Visit = { began: true, refusal: null, who };
  return duringVisit(visit, () => work(visit));
};
const add = (name: string, keepsDiary = false) =>
  addSomebody({ name, passphrase: `${name} and a rake`, keepsDiary }, now);
const named = async (name: string): Promise<SignedInPerson> => (await personByName(name))!.person;

describe('people', () => {
  test('the first keeps the whole diary and ends every way in without a name', async () => {
    await addDoorSession('a'.repeat(64), now, new Date(now.getTime() + 1e9));
    expect(await hasPeople()).toBe(false);
    expect(await add('Ann')).toMatchObject({ ok: true, next: { href: '/sign-in?to=/people' } });
    expect(await hasPeople()).toBe(true);
    expect((await named('  aNN ')).keepsDiary).toBe(true);
    expect(await hasDoorSession('a'.repeat(64), now)).toBe(false);
    expect(await add('Ben')).toMatchObject({ ok: true });
    expect((await named('Ben')).keepsDiary).toBe(false);
  });

  test('a name is given once, however it is typed, also when its bearer was put away', async () => {
    await add('Ann');
    await add('Ben Moss');
    for (const name of ['ben moss', 'Ben  Moss', 'ANN']) expect(await add(name)).toMatchObject({ ok: false });
    await putAway((await named('Ben Moss')).id, now);
    expect(await add('Ben Moss')).toMatchObject({
      ok: false,
      errors: { name: "Name: expected one that nobody has or had, got 'Ben Moss'" },
    });
  });

  test('the last who keeps the diary can neither be put away nor give it up', async () => {
    await add('Ann');
    await add('Ben');
    const ann = await named('Ann');
    expect(await putAway(ann.id, now)).toMatchObject({ ok: false });
    expect(await changeRights(ann.id, { keepsDiary: false, right: {} })).toMatchObject({ ok: false });
    expect((await named('Ann')).keepsDiary).toBe(true);
    const ben = await named('Ben');
    expect(await changeRights(ben.id, { keepsDiary: true, right: {} })).toMatchObject({ ok: true });
    expect(await putAway(ann.id, now)).toMatchObject({ ok: true });
    expect(await putAway(ben.id, now)).toMatchObject({ ok: false });
  });

  test('whoever is put away is signed out and can’t come in; the name stays, and what they could is theirs again when taken back', async () => {
    const lawn = await plainLawn();
    await add('Ann');
    await add('Ben');
    const ben = await named('Ben');
    await changeRights(ben.id, { keepsDiary: false, right: { [lawn.id]: 'works' } });
    await addDoorSession('b'.repeat(64), now, new Date(now.getTime() + 1e9), ben.id);
    expect((await personOfSession('b'.repeat(64), now))?.name).toBe('Ben');
    expect(await personOfSession('b'.repeat(64), new Date(now.getTime() + 1e9))).toBeNull();
    await putAway(ben.id, now);
    expect([await personOfSession('b'.repeat(64), now), await personByName('Ben')]).toEqual([null, null]);
    expect((await namesOfPeople([ben.id, null])).get(ben.id)).toBe('Ben');
    await takeBack(ben.id);
    expect(
      (await listPeople()).map(({ name, hasPassphrase, awaySince }) => ({ name, hasPassphrase, awaySince })),
    ).toContainEqual({ name: 'Ben', hasPassphrase: false, awaySince: null });
    expect((await named('Ben')).lawns.get(lawn.id)).toBe('works');
  });

  test('a new passphrase ends every session of its person, one’s own needs the old one', async () => {
    await add('Ann');
    await add('Ben');
    const [ann, ben] = [await named('Ann'), await named('Ben')];
    const until = new Date(now.getTime() + 1e9);
    await addDoorSession('a'.repeat(64), now, until, ann.id);
    await addDoorSession('b'.repeat(64), now, until, ben.id);
    await resetPassphrase(ben.id, 'another long one', now);
    expect([(await personOfSession('a'.repeat(64), now))?.name, await personOfSession('b'.repeat(64), now)]).toEqual([
      'Ann',
      null,
    ]);
    expect(
      await as(ann, () => changeOwnPassphrase({ now: 'a wrong one', passphrase: 'quite another' }, now)),
    ).toMatchObject({ ok: false, errors: { now: 'Passphrase now: expected yours, got another one' } });
    expect(
      await as(ann, () => changeOwnPassphrase({ now: 'Ann and a rake', passphrase: 'quite another' }, now)),
    ).toMatchObject({ ok: true });
    expect(await personOfSession('a'.repeat(64), now)).toBeNull();
  });
});

describe('a right is asked of the lawn an entry is of', () => {
  test('no entry of another lawn is there for a person, and what they may not do is refused with their name', async () => {
    const [home, field] = [await plainLawn({ name: 'Home' }), await plainLawn({ name: 'Field' })];
    const [plot, other] = [
      await createPlot(home.id, { name: 'A', isCheck: false, areaM2: 10 } as Parameters<typeof createPlot>[1]),
      await createPlot(field.id, { name: 'A', isCheck: false, areaM2: 10 } as Parameters<typeof createPlot>[1]),
    ];
    await add('Ann');
    await add('Ben');
    await changeRights((await named('Ben')).id, { keepsDiary: false, right: { [home.id]: 'works' } });
    const ben = await named('Ben');
    await as(ben, async (visit) => {
      await expectRight('works', { plot: plot.id });
      await expect(expectRight('keeps', { plot: plot.id })).rejects.toThrow(
        'Expected somebody who keeps this lawn, got Ben.',
      );
      expect(visit.refusal?.status).toBe(403);
    });
    await as(ben, async (visit) => {
      await expect(expectRight('looks', { lawn: home.id, plot: other.id })).rejects.toThrow(/one that is not there/);
      expect(visit.refusal?.status).toBe(404);
    });
    await as(ben, async () => {
      await expect(expectRight('looks', { plot: 'cmaaaaaaaaaaaaaaaaaaaaaaa' })).rejects.toThrow(
        /one that is not there/,
      );
      await expect(expectRight('looks', { lawn: null })).rejects.toThrow(
        'Expected somebody who may look at this, got Ben.',
      );
      expect([
        await mayDo('works', 'some-lawn'),
        await mayDo('keeps', 'some-lawn'),
        await mayDo('looks', 'diary'),
      ]).toEqual([true, false, false]);
      expect(lawnsToSee([home, field]).map((lawn) => lawn.name)).toEqual(['Home']);
    });
    expect(lawnsToSee([home, field])).toHaveLength(2); // nobody asks by name: all is open
  });

  test('an undo asks the right of moving to the bin, and none of what was deleted for good meanwhile', async () => {
    const [home, field] = [await plainLawn({ name: 'Home' }), await plainLawn({ name: 'Field' })];
    await add('Ann');
    await add('Ben');
    await changeRights((await named('Ben')).id, { keepsDiary: false, right: { [home.id]: 'works' } });
    const fields = { state: 'done', startedAt: now, note: '' } as Parameters<typeof createSpray>[1];
    const [own, other] = [await createSpray(home.id, fields, [], []), await createSpray(field.id, fields, [], [])];
    await as(await named('Ben'), async () => {
      await expectRight(...(await rightToPutBack('spray', own.id)));
      await expectRight(...(await rightToPutBack('photo', 'cmaaaaaaaaaaaaaaaaaaaaaaa')));
      await expect(
        rightToPutBack('plot', 'cmaaaaaaaaaaaaaaaaaaaaaaa').then((asked) => expectRight(...asked)),
      ).rejects.toThrow(/^Expected somebody who keeps a lawn, got Ben/);
    });
    await as(await named('Ben'), async () => {
      await expect(rightToPutBack('spray', other.id).then((asked) => expectRight(...asked))).rejects.toThrow(
        /one that is not there/,
      );
    });
  });

  test('what is written says who wrote it, and nobody where nobody has a name', async () => {
    const lawn = await plainLawn();
    await add('Ann');
    const ann = await named('Ann');
    const fields = { state: 'done', startedAt: now, note: '' } as Parameters<typeof createSpray>[1];
    expect((await as(ann, () => createSpray(lawn.id, fields, [], []))).byPersonId).toBe(ann.id);
    expect((await createSpray(lawn.id, fields, [], [])).byPersonId).toBeNull();
    const mowing = { kind: 'mowing', at: now } as const;
    const event = await as(ann, () => createEvent(lawn.id, mowing, []));
    expect((await findEvent(event.id))?.byPersonId).toBe(ann.id);
    expect((await createEvent(lawn.id, mowing, [])).byPersonId).toBeNull();
    const iron = await plainProduct({ name: 'Iron' });
    const rate = { productId: iron.id, rate: { value: 100, unit: 'g/100m2' as const } };
    const trial = await laidOut(
      lawn,
      entryOf({
        blocks: 2,
        treatments: [
          { name: 'none', isCheck: true, onSubplots: false, items: [] },
          { name: 'iron', isCheck: false, onSubplots: false, items: [rate] },
        ],
      }),
    );
    const score = (score: number) => ({
      plotId: trial.plots[0]!.plotId,
      trialId: trial.id,
      rater: 'A',
      score,
      blind: true,
      ratedAt: now,
    });
    await as(ann, () => addRatings([score(5), score(6)]));
    await addRatings([score(7)]);
    const record = await readTrial(trial.id);
    expect(ratingSittings(record!).map((one) => [one.rater, one.scores, one.byPersonId])).toEqual([
      ['A', 2, ann.id],
      ['A', 1, null],
    ]);
  });
});

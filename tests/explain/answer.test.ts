import { answerText } from '../support/answer-text';
import { describe, expect, test } from 'vitest';
import { answerOf, type AnswerInput } from '@/lib/explain/answer-of-sprays';
import { standingOf, type AnswerFigure, type AnswerPoint, type PlotStory } from '@/lib/explain/answer';
import { trialAnswer } from '@/lib/explain/answer-of-trial';
import { mostHelpful, nextTimeText } from '@/lib/explain/next-time';
import type { CauseFinding, SprayWhatIf } from '@/lib/explain/causes';
import { signedIndex } from '@/lib/units/show-index';

const figure = (value: number, low95: number | null, high95: number | null): AnswerFigure => ({ value, low95, high95 });
const point = (photo: string, when: string, of: AnswerFigure | null, refused: string | null = null): AnswerPoint => ({
  evidence: { kind: 'photo', id: photo },
  when,
  figure: of,
  refused,
});
const story = (name: string, ...points: AnswerPoint[]): PlotStory => ({ name, points, before: null });
const input = (more: Partial<AnswerInput>): AnswerInput => ({
  stories: [],
  marks: [],
  cause: null,
  photos: 1,
  pending: 0,
  ...more,
});
const haze = { id: 'm', kind: 'silver' as const, plotName: 'C', areaShare: 0.18, confirmed: true, goneWhen: null };

describe('what a spray did', () => {
  test('an interval above nothing is darker, below it paler, one that holds nothing can’t be told', () => {
    expect(standingOf(figure(0.08, 0.07, 0.09))).toBe('darker');
    expect(standingOf(figure(-0.02, -0.03, -0.01))).toBe('paler');
    expect(standingOf(figure(0.004, -0.006, 0.014))).toBe('not-told');
    expect(standingOf(figure(0.01, 0, 0.02))).toBe('not-told');
    expect(standingOf(figure(0.05, null, null))).toBe('no-interval');
  });

  test('a plot, its figure with the interval, and when', () => {
    expect(
      answerText(answerOf(input({ stories: [story('C', point('p', '3 days after', figure(0.08, 0.07, 0.09)))] }))),
    ).toBe('C turned darker than the check by 0.080 (0.070 to 0.090), 3 days after.');
    expect(
      answerText(answerOf(input({ stories: [story('C', point('p', '3 days after', figure(-0.02, -0.03, -0.01)))] }))),
    ).toBe('C turned paler than the check by 0.020 (0.010 to 0.030), 3 days after.');
  });

  test('what can’t be told is said so and is marked as unsure; its figure leads to the photo', () => {
    const answer = answerOf(
      input({ stories: [story('B', point('p7', 'one day after', figure(0.004, -0.006, 0.014)))] }),
    );
    expect(answerText(answer)).toBe('B can’t be told from the check (+0.004, 95 % −0.006 to +0.014), one day after.');
    const unsure = answer.filter((part) => part.sureness === 'unsure');
    expect(unsure).toHaveLength(1);
    expect(unsure[0]?.evidence).toEqual({ kind: 'photo', id: 'p7' });
    expect(answer.some((part) => part.sureness === 'sure')).toBe(false);
  });

  test('the largest told change leads, and the newest says how it stands now', () => {
    const told = answerOf(
      input({
        photos: 3,
        stories: [
          story(
            'C',
            point('a', 'one day after', figure(0.02, 0.01, 0.03)),
            point('b', '3 days after', figure(0.08, 0.07, 0.09)),
            point('c', '12 days after', figure(0.004, -0.006, 0.014)),
          ),
        ],
      }),
    );
    expect(answerText(told)).toBe(
      'C turned darker than the check by 0.080 (0.070 to 0.090), 3 days after, 12 days after can’t be told from it (+0.004, 95 % −0.006 to +0.014).',
    );
    expect(told.flatMap((part) => (part.evidence?.kind === 'photo' ? part.evidence.id : []))).toEqual(['b', 'c']);
  });

  test('what still holds at the last photo is said with its size; what the plot before did as well isn’t said twice', () => {
    const two = answerOf(
      input({
        photos: 2,
        stories: [
          story(
            'B',
            point('a', '4 days after', figure(0.047, 0.041, 0.053)),
            point('b', '10 days after', figure(0.033, 0.028, 0.039)),
          ),
          story('C', point('a', '4 days after', figure(0.075, 0.068, 0.081))),
        ],
      }),
    );
    expect(answerText(two)).toBe(
      'B turned darker than the check by 0.047 (0.041 to 0.053), 4 days after, 10 days after still by 0.033; C by 0.075 (0.068 to 0.081), 4 days after.',
    );
    const turned = answerOf(
      input({
        photos: 2,
        stories: [
          story(
            'B',
            point('a', '4 days after', figure(0.047, 0.041, 0.053)),
            point('b', '10 days after', figure(-0.02, -0.03, -0.01)),
          ),
        ],
      }),
    );
    expect(answerText(turned)).toBe(
      'B turned darker than the check by 0.047 (0.041 to 0.053), 4 days after, 10 days after paler by 0.020 (0.010 to 0.030).',
    );
  });

  test('a large change that can’t be told doesn’t lead over a smaller one that can', () => {
    const text = answerText(
      answerOf(
        input({
          photos: 2,
          stories: [
            story(
              'C',
              point('a', 'one day after', figure(0.2, -0.1, 0.5)),
              point('b', '3 days after', figure(0.02, 0.01, 0.03)),
            ),
          ],
        }),
      ),
    );
    expect(text).toBe('C turned darker than the check by 0.020 (0.010 to 0.030), 3 days after.');
  });

  test('an earlier spray of the series is no credit to this one: where the plot stood just before is said', () => {
    const before = { evidence: { kind: 'photo' as const, id: 'z' }, figure: figure(0.029, 0.02, 0.04) };
    expect(
      answerText(
        answerOf(
          input({ stories: [{ ...story('B', point('p', '4 days after', figure(0.047, 0.041, 0.053))), before }] }),
        ),
      ),
    ).toContain('4 days after (+0.029 just before)');
  });

  test('a refused figure gives the reason, not a number', () => {
    const answer = answerOf(
      input({ stories: [story('C', point('p', '3 days after', null, 'No common light on both plots.'))] }),
    );
    expect(answerText(answer)).toBe('C can’t be compared: no common light on both plots, 3 days after.');
    expect(answerText(answer)).not.toMatch(/\d\.\d/);
  });

  test('a patch stands with its share of the plot; one nobody looked at only looks like it', () => {
    const stories = [story('C', point('p', '3 days after', figure(0.08, 0.07, 0.09)))];
    expect(answerText(answerOf(input({ stories, marks: [haze] })))).toContain('; a silvery haze on 18 % of C.');
    const open = answerOf(input({ stories, marks: [{ ...haze, confirmed: false, goneWhen: '10 days after' }] }));
    expect(answerText(open)).toContain('; what looks like a silvery haze on 18 % of C, no longer seen 10 days after.');
    expect(open.find((part) => part.evidence?.kind === 'mark')?.sureness).toBe('unsure');
  });

  test('causes are likely, never certain, and what to do otherwise defers to the label', () => {
    const cause = {
      markId: 'm',
      likely: ['Dried too fast', 'Surfactant with an ammonium salt'],
      nextTime: { text: 'the same products in twice the water, 12 L/100 m²', address: '/plan/new?x' },
    };
    const answer = answerOf(
      input({ stories: [story('C', point('p', '3 days after', figure(0.08, 0.07, 0.09)))], marks: [haze], cause }),
    );
    expect(answerText(answer)).toMatch(
      / Likely from the record: dried too fast; surfactant with an ammonium salt may have worked with it\. Next time, as far as the label allows: the same products in twice the water, 12 L\/100 m²\.$/,
    );
    expect(answer.find((part) => part.text === 'dried too fast')).toMatchObject({
      sureness: 'unsure',
      evidence: { kind: 'mark', id: 'm' },
    });
    expect(
      answerText(answerOf(input({ stories: [], marks: [haze], cause: { markId: 'm', likely: [], nextTime: null } }))),
    ).toContain('Nothing in the record makes one cause of it likely.');
  });

  test('no photo, no check and photos at work are said so', () => {
    expect(answerText(answerOf(input({ photos: 0 })))).toBe('No photo yet, so what it did isn’t known.');
    expect(answerText(answerOf(input({ photos: 0, pending: 2 })))).toContain('being worked out');
    expect(answerText(answerOf(input({})))).toContain('light and treatment can’t be told apart');
    expect(answerText(answerOf(input({ pending: 1 })))).toMatch(/One photo is still being worked out\.$/);
  });

  test('of many plots the answer counts and names the largest', () => {
    const stories = [
      ...[0.02, 0.08, 0.03].map((value, i) =>
        story(`D${i}`, point(`d${i}`, '3 days after', figure(value, value - 0.01, value + 0.01))),
      ),
      story('E', point('e', '3 days after', figure(0, -0.01, 0.01))),
      story('F', point('f', '3 days after', figure(-0.05, -0.06, -0.04))),
    ];
    expect(answerText(answerOf(input({ stories })))).toBe(
      'Of 5 plots 3 turned darker than the check, most D1 by 0.080 (0.070 to 0.090), 3 days after, 1 turned paler than the check (F by 0.050 (0.040 to 0.060), 3 days after), 1 can’t be told from it.',
    );
  });
});

describe('what a trial shows', () => {
  const stories = [story('Full iron (C)', point('a', 'on day 3', figure(0.08, 0.07, 0.09)))];
  test('without replicates: what these strips show, and that it can’t be said of others', () => {
    const answer = trialAnswer({ stories, replicates: 1, tested: [], trialId: 't' });
    expect(answerText(answer)).toBe(
      'On these strips Full iron (C) turned darker than the check by 0.080 (0.070 to 0.090), on day 3. What it can’t show: whether that holds anywhere but on these strips, since one strip of a treatment can’t tell what was sprayed from what the ground did. Two strips of each, better four, would.',
    );
    expect(answer.filter((part) => part.sureness === 'unsure')).toHaveLength(1);
  });
  test('with a test, its own sentence stands beside the figures', () => {
    const text = answerText(
      trialAnswer({ stories, replicates: 4, tested: ['The treatments differ (F = 9, p = 0.01).'], trialId: 't' }),
    );
    expect(text).toContain('Over all days: The treatments differ (F = 9, p = 0.01).');
    expect(text).not.toContain('only large');
    expect(answerText(trialAnswer({ stories, replicates: 2, tested: ['x.'], trialId: 't' }))).toContain(
      'only large differences',
    );
  });
  test('nothing photographed is nothing said', () => {
    expect(answerText(trialAnswer({ stories: [story('X')], replicates: 1, tested: [], trialId: 't' }))).toContain(
      'Nothing can be said yet',
    );
  });
});

describe('what to do otherwise', () => {
  const twice: SprayWhatIf = { id: 'twice-the-carrier', text: '', change: { carrierFactor: 2 } };
  const cooler: SprayWhatIf = { id: 'cooler-day', text: '', change: { maxTempC: 25 } };
  const half: SprayWhatIf = { id: 'half-the-iron', text: '', change: { ironFactor: 0.5 } };
  const finding = (strength: CauseFinding['strength'], ...whatIf: SprayWhatIf[]): CauseFinding => ({
    cause: 'heat',
    title: '',
    strength,
    sentence: '',
    evidenceFor: [],
    evidenceAgainst: [],
    unknown: [],
    look: '',
    whatIf,
  });
  test('what most causes ask for comes first, a likely cause counting twice', () => {
    expect(
      mostHelpful([finding('likely', half), finding('likely', twice), finding('possible', twice, cooler)])?.id,
    ).toBe('twice-the-carrier');
    expect(mostHelpful([finding('likely', half), finding('possible', cooler)])?.id).toBe('half-the-iron');
    expect(mostHelpful([finding('unlikely', half)])).toBeNull();
  });
  test('it stands in the reader’s units: 600 L/ha twice is 12 L/100 m² or 2.95 gal/1000 ft²', () => {
    // 1200 L/ha = 12 L/100 m² = 1200 × 0.009290304 / 3.785411784 gal/1000 ft² = 2.945
    const then = { carrierLPerHa: 600, ironKgPerHa: 2.2 };
    expect(nextTimeText(twice, then, 'metric')).toContain('12 L/100 m²');
    expect(nextTimeText(twice, then, 'us-customary')).toMatch(/2\.9[45] gal\/1000 ft²/);
    // 25 °C = 77 °F
    expect(nextTimeText(cooler, then, 'us-customary')).toBe('a day that stays below 77 °F');
    // 1.1 kg/ha = 1.1 × 2.2046226 × 0.009290304 lb/1000 ft² = 0.0225
    expect(nextTimeText(half, then, 'us-customary')).toMatch(/^half the iron, 0\.02[23] lb\/1000 ft²$/);
  });
  test('a change that rounds to nothing has no sign', () => {
    expect(signedIndex(-0.0001)).toBe('0.000');
    expect(signedIndex(-0.02)).toBe('−0.020');
  });
});

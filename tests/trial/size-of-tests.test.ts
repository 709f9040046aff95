// Trials where nothing was done, drawn with a fixed seed: each F of a report and each check of its residuals may speak
// in 5 of 100 of them. All printed tests, with thousands of runs and their power: tests/support/simulate-trials.ts.
import { describe, expect, test } from 'vitest';
import { seededRandom } from '@/lib/stats/random';
import { analyseValues } from '@/lib/trial/analyse';
import { hasTwoFactors } from '@/lib/trial/design';
import { draw, SETTINGS, type Setting } from '../support/simulate-trials';

/** How often each test spoke, of how many trials that gave it. */
function spoken(setting: Setting, runs: number): Map<string, { yes: number; of: number }> {
  const random = seededRandom(`quick ${setting.name}`);
  const counts = new Map<string, { yes: number; of: number }>();
  const count = (test: string, yes: boolean): void => {
    const before = counts.get(test) ?? { yes: 0, of: 0 };
    counts.set(test, { yes: before.yes + Number(yes), of: before.of + 1 });
  };
  for (let run = 0; run < runs; run++) {
    const got = analyseValues(draw(setting, random, null), {
      layout: setting.design.layout,
      measure: 'index',
      check: null,
      scale: 'interval',
      comparison: 'lsd',
    });
    if (got.kind !== 'tested') continue;
    for (const factor of got.factors) count(`F of ${factor.factor}`, factor.p < 0.05);
    for (const note of got.assumptions)
      if (note.verdict !== 'cannot tell' && note.about !== 'few plots') count(note.about, note.verdict === 'caution');
  }
  return counts;
}

// Mixed models take twenty times as long: few trials of incomplete blocks here, and layouts of two factors by the
// command only.
const quick = SETTINGS.filter(({ design }) => !hasTwoFactors(design.layout)).map((setting) => ({
  setting,
  name: setting.name,
  runs: setting.design.layout === 'incomplete-blocks' ? 40 : 300,
}));

describe('in trials where nothing was done each test speaks in 5% of them, within 3 standard errors', () => {
  test.each(quick)('$name ($runs trials)', ({ setting, runs }) => {
    const counts = spoken(setting, runs);
    expect(counts.get('F of treatment')?.of).toBe(runs);
    for (const [test, { yes, of }] of counts) {
      expect(Math.abs(yes / of - 0.05), `${test}: ${yes} of ${of}`).toBeLessThan(3 * Math.sqrt((0.05 * 0.95) / of));
    }
  });
});

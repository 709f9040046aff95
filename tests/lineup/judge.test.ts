import { describe, expect, it } from 'vitest';
import {
  confirmed,
  contradicted,
  judge,
  offOdds,
  passesGuards,
  type Evidence,
  type Gaps,
  type StepEvidence,
} from '@/lib/lineup/judge';
import { chanceAt, SURE_ALONE } from '@/lib/photo/marks/off-model';

/** Both directions end at the same place, as far as the maps tell. */
const SAME: Gaps = { maps: 0.1, byTurf: undefined };

const step = (more: Partial<StepEvidence> = {}): StepEvidence => ({
  sigmaPercent: 0.1,
  withoutOnePercent: 0.05,
  agreement: 0.95,
  sightings: 100,
  movedPercent: 0.05,
  ...more,
});
const evidence = (last: Partial<StepEvidence> = {}, more: Partial<Evidence> = {}): Evidence => ({
  steps: [step(), step({ sigmaPercent: 0.2 }), step(last)],
  turf: { z: 6, offset: 0.5, windows: 70, mean: 0.2, median: 0.2 },
  blotches: { z: 1, offset: 0, windows: 20, mean: 0.2, median: 0.2 },
  fit: 0.4,
  rivalFit: 0.15,
  cornersInFrame: 1,
  ...more,
});

describe('the judge of one answer', () => {
  it('finds an answer the likelier to be off the less its corners are held, the less agrees and the fewer things are seen again', () => {
    const plain = offOdds(evidence());
    for (const worse of [{ sigmaPercent: 0.3 }, { agreement: 0.8 }, { sightings: 20 }])
      expect(offOdds(evidence(worse))).toBeGreaterThan(plain);
    for (const worse of [
      { turf: { z: 1, offset: 0.5, windows: 70, mean: 0.2, median: 0.2 } },
      { turf: { z: 6, offset: 5, windows: 70, mean: 0.2, median: 0.2 } },
      { rivalFit: 0.3 },
    ])
      expect(offOdds(evidence({}, worse))).toBeGreaterThan(plain);
  });

  it('trusts a good answer and says nothing against it; a poor one is asked about in words', () => {
    expect(judge(evidence())).toMatchObject({ status: 'ok', reasons: [] });
    expect(judge(evidence()).confidence).toBeGreaterThanOrEqual(0.5);
    const poor = judge(evidence({ sigmaPercent: 0.6, agreement: 0.6, sightings: 14 }));
    expect(poor.status).toBe('taps');
    expect(poor.confidence).toBeLessThan(0.5);
    expect(poor.reasons).toContain('parts of the photo contradict each other');
  });

  it('trusts nothing that looks as much the same a plot further on, whose turf fits elsewhere, that hardly anything holds or that left the photo, whatever the odds', () => {
    for (const bad of [
      evidence({}, { rivalFit: 0.39 }),
      evidence({ sightings: 6 }),
      evidence({}, { cornersInFrame: 0.4 }),
      evidence({ sigmaPercent: 0.9 }),
      evidence({}, { turf: { z: 3, offset: 9, windows: 70, mean: 0.1, median: 0.1 } }),
    ]) {
      expect(passesGuards(bad)).toBe(false);
      expect(judge(bad).status).toBe('taps');
      expect(confirmed(bad, evidence(), SAME)).toBeUndefined();
      expect(confirmed(evidence(), bad, SAME)).toBeUndefined();
    }
  });

  it('is finite where nothing was seen at all', () => {
    const nothing = { sigmaPercent: 99, withoutOnePercent: 99, agreement: 0, sightings: 0, movedPercent: 99 };
    const verdict = judge({
      ...evidence(),
      steps: [nothing, nothing, nothing],
      turf: { z: 0, offset: 22, windows: 0, mean: 0, median: 0 },
    });
    expect(verdict).toMatchObject({ status: 'taps' });
    expect(verdict.offChance).toBeGreaterThan(0.99);
  });
});

describe('two directions', () => {
  // Found by trying: an answer whose odds lie between sure and hopeless.
  const middling = Array.from({ length: 60 }, (_, i) =>
    evidence({ sigmaPercent: 0.1 + i * 0.01, agreement: 0.95 - i * 0.004, sightings: 60 }),
  ).find((one) => offOdds(one) > -4 && offOdds(one) < -2)!;

  it('confirm an answer that is not sure by itself', () => {
    expect(judge(middling).status).toBe('taps');
    expect(confirmed(middling, middling, SAME)).toMatchObject({ status: 'ok', reasons: [] });
  });

  it('don’t when one of them is likely off', () => {
    const off = evidence({ sigmaPercent: 0.6, agreement: 0.6, sightings: 20 });
    expect(offOdds(off)).toBeGreaterThan(1);
    expect(confirmed(middling, off, SAME)).toBeUndefined();
  });

  it('don’t where the turf inside the plots hardly knows itself: a shadow’s edge may have carried both astray', () => {
    const faint = { ...middling, turf: { ...middling.turf, mean: 0.06, median: 0.06 } };
    expect(confirmed(faint, faint, SAME)).toBeUndefined();
  });

  it('don’t where they end apart, nor where the plots’ own turf puts them clearly apart', () => {
    expect(confirmed(middling, middling, { maps: 0.6, byTurf: undefined })).toBeUndefined();
    expect(confirmed(middling, middling, { maps: 0.6, byTurf: 0.4 })).toBeUndefined();
    expect(confirmed(middling, middling, { maps: 0.4, byTurf: 0.9 })).toBeUndefined();
  });

  it('confirm a doubtful answer where the turf plainly knows itself both ways and puts the plots at the same place, and only there', () => {
    const turf = { z: 8, offset: 0, windows: 20, mean: 0.4, median: 0.42 };
    const doubtful = evidence({ sigmaPercent: 0.3, agreement: 0.65, sightings: 80 }, { turf, colour: turf });
    expect(offOdds(doubtful)).toBeGreaterThan(-1.5);
    expect(offOdds(doubtful)).toBeLessThan(2);
    const near: Gaps = { maps: 1.4, byTurf: 0.6 };
    expect(confirmed(doubtful, doubtful, near)).toMatchObject({ status: 'ok' });
    expect(confirmed(doubtful, doubtful, { ...near, byTurf: 0.9 })).toBeUndefined();
    expect(confirmed(doubtful, doubtful, { ...near, byTurf: undefined })).toBeUndefined();
    expect(confirmed(doubtful, { ...doubtful, colour: { ...turf, median: 0.14 } }, near)).toBeUndefined();
    // Mowing stripes a stripe off came to 0.23.
    expect(
      confirmed(
        doubtful,
        evidence(
          { sigmaPercent: 0.3, agreement: 0.65, sightings: 80 },
          { turf: { ...turf, median: 0.23 }, colour: turf },
        ),
        near,
      ),
    ).toBeUndefined();
  });

  it('confirm a somewhat less likely answer where maps and turf end within a quarter of a percent, and only there', () => {
    const less = Array.from({ length: 60 }, (_, i) =>
      evidence({ sigmaPercent: 0.1 + i * 0.01, agreement: 0.95 - i * 0.004, sightings: 60 }),
    ).find((one) => offOdds(one) > -0.95 && offOdds(one) < -0.3)!;
    expect(confirmed(less, less, { maps: 0.2, byTurf: 0.2 })).toMatchObject({ status: 'ok' });
    expect(confirmed(less, less, { maps: 0.2, byTurf: 0.3 })).toBeUndefined();
    expect(confirmed(less, less, { maps: 0.3, byTurf: 0.2 })).toBeUndefined();
    expect(confirmed(less, less, { maps: 0.2, byTurf: undefined })).toBeUndefined();
  });

  it('take the turf’s larger blotches for a witness where a shadow drowns its finer ones', () => {
    const knows = { z: 3, offset: 1, windows: 20, mean: 0.3, median: 0.27 };
    const shaded = { ...middling, turf: { ...middling.turf, mean: 0.04, median: 0.07 }, blotches: knows };
    expect(confirmed(shaded, shaded, SAME)).toMatchObject({ status: 'ok' });
    expect(confirmed(shaded, { ...shaded, blotches: { ...knows, offset: 5 } }, SAME)).toBeUndefined();
  });

  it('that end at different places leave nothing trusted', () => {
    const verdict = contradicted(judge(evidence()));
    expect(verdict.status).toBe('taps');
    expect(verdict.confidence).toBeLessThan(0.5);
    expect(verdict.reasons).toEqual(['two ways of lining up end at different places']);
  });

  it('stand at 1.1 % where one is trusted by itself', () => {
    expect(chanceAt(SURE_ALONE)).toBeCloseTo(1 / (1 + Math.exp(4.5)), 12);
  });
});

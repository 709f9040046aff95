import { describe, expect, test } from 'vitest';
import { drawLawnPhoto } from '@/lib/demo/lawn-renderer';
import { demoScenario } from '@/lib/demo/scenario';
import { lookAtOne } from '@/lib/photo/marks/look-at-one';

/** The drawn lawn of the demo: its story says on which day which strip carries a haze, and where. */
const scenario = demoScenario();

function lookOn(day: string) {
  const photo = scenario.photos.find(({ takenAtLocal }) => takenAtLocal.startsWith(day));
  if (!photo) throw new Error(`no photo of ${day}`);
  const plots = scenario.strips.map((strip) => ({
    id: strip.id,
    corners: photo.plotCorners[strip.id],
    groundMetres: strip.polygonM,
  }));
  return { photo, look: lookAtOne(drawLawnPhoto(photo, scenario.strips), plots) };
}

describe('one photo by itself', () => {
  test('shows the drawn haze on its strip, as silvery, and does not claim that it is new', () => {
    const { photo, look } = lookOn('2026-05-09');
    expect(look.marks.map(({ plotId, kind, isNew }) => ({ plotId, kind, isNew }))).toEqual([
      { plotId: photo.haze?.stripId, kind: 'silver', isNew: null },
    ]);
    // The haze's ellipse, pi × 0.5 m × 1.5 m, has a soft rim: its core is found, not twice its size.
    const ellipseM2 = Math.PI * (photo.haze?.halfWidthM ?? 0) * (photo.haze?.halfLengthM ?? 0);
    expect(look.marks[0]?.areaM2).toBeGreaterThan(0.4 * ellipseM2);
    expect(look.marks[0]?.areaM2).toBeLessThan(1.3 * ellipseM2);
  });

  test('shows no mark on a lawn without one, though its strips differ in green', () => {
    expect(lookOn('2026-05-07').look.marks).toEqual([]);
  });
});

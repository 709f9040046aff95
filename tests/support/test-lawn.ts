import type { Lawn, LawnInput } from '@/lib/diary/lawns';
import { createPlot } from '@/lib/diary/plots';
import { logSpray } from '@/lib/work/sprays/log-spray';
import type { SprayEntry } from '@/lib/forms/spray-form';
import { plainLawn } from './diary';

/** A lawn whose sun and air are known; every fact can be said otherwise. */
export function testLawn(facts: Partial<LawnInput> = {}): Promise<Lawn> {
  return plainLawn({
    latitudeDeg: 40,
    longitudeDeg: -75,
    elevationM: 100,
    timeZone: 'America/New_York',
    unitSystem: 'metric',
    mowingHeightMm: 60,
    ...facts,
  });
}

/** Logs a spray on a plot of its own; what was in the tank doesn't matter here. @returns its id */
export async function testSpray(lawn: Lawn, startedLocal: string, entry: Partial<SprayEntry> = {}): Promise<string> {
  const name = `P${startedLocal}`;
  const plot = await createPlot(lawn.id, {
    name,
    isCheck: false,
    polygonM: null,
    areaM2: 10,
    note: '',
  });
  const logged = await logSpray(lawn.id, {
    startedLocal,
    endedLocal: null,
    sprayerId: null,
    plotIds: [plot.id],
    items: [],
    carrierLPerHa: 800,
    carrierEnteredValue: 8,
    carrierEnteredUnit: 'L/100m2',
    actualVolumeL: null,
    leftoverL: null,
    measuredPh: null,
    airTempC: null,
    relHumidityPercent: null,
    windMPerS: null,
    applicator: '',
    note: '',
    ...entry,
  });
  if (!logged.ok) throw new Error(logged.message);
  return logged.sprayId;
}

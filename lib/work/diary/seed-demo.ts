import 'server-only';
import { USUAL_EDITION } from '@/lib/colour/chart-24';
import { HOUR_MS } from '@/lib/units/time';
import { demoPhotos } from '@/lib/demo/demo-photos';
import { DEMO_SEED, demoScenario, type DemoScenario } from '@/lib/demo/scenario';
import { type DemoSprayItem, type StripId } from '@/lib/demo/demo-facts';
import { MOWN_LOCAL, PLANNED, WATERED_LOCAL, wateringOf, type DemoSetting } from '@/lib/demo/story';
import { createLawn, type Lawn } from '@/lib/diary/lawns';
import { createPlot, type PlanPoint } from '@/lib/diary/plots';
import { createProduct } from '@/lib/diary/products';
import { addRatings } from '@/lib/diary/ratings';
import { createTrial } from '@/lib/diary/trials';
import { createEvent } from '@/lib/diary/lawn-events';
import { readSetting, writeSetting } from '@/lib/diary/settings';
import { createSprayer } from '@/lib/diary/sprayers';
import { createSpray } from '@/lib/diary/sprays';
import { addWeatherHours, weatherHoursBetween } from '@/lib/diary/weather-hours';
import { isDryAreaRate, isLiquidAreaRate, toKgPerHa, toLPerHa, type Rate } from '@/lib/units/rate';
import { readTypedPlan, type TypedPlan } from '@/lib/plan/typed-plan';
import { keepPlan } from '../sprays/keep-plan';
import { instantOfLocal } from './lawn-time';
import { outlinePlots } from '../photos/outline-plots';
import { takePhoto } from '../photos/take-photo';
import { renewLawn } from '../photos/worked-out';

/** Set when the demo is written whole. */
export const demoDone = 'demo-seeded';
/** What was written, from the first row on, so that it can be removed again. */
export const demoLawn = 'demo-lawn';

function labelMax(rate: Rate) {
  return {
    labelMaxEnteredValue: rate.value,
    labelMaxEnteredUnit: rate.unit,
    labelMaxRateKgPerHa: isDryAreaRate(rate) ? toKgPerHa(rate) : null,
    labelMaxRateLPerHa: isLiquidAreaRate(rate) ? toLPerHa(rate) : null,
  };
}

/** Writes the demo diary into an empty database, once. @returns false when it was there already */
export async function seedDemo(progress: (text: string) => void, setting: DemoSetting = 'us-warm'): Promise<boolean> {
  if ((await readSetting(demoDone)) !== null) return false;
  const scenario = demoScenario(DEMO_SEED, setting);
  const { mowingHeight, ...lawnFacts } = scenario.lawn;
  const lawn = await createLawn({
    ...lawnFacts,
    chartEdition: USUAL_EDITION,
    mowingHeightEnteredValue: mowingHeight.value,
    mowingHeightEnteredUnit: mowingHeight.unit,
  });
  await writeSetting(demoLawn, { lawnId: lawn.id, productIds: [] });
  const at = (local: string) => instantOfLocal(local, lawn.timeZone);

  const plotIds = new Map<StripId, { id: string; areaM2: number }>();
  for (const strip of scenario.strips) {
    const plot = await createPlot(lawn.id, {
      name: strip.name,
      isCheck: strip.isCheck,
      polygonM: strip.polygonM.map(([x, y]): PlanPoint => [x, y]),
      areaM2: strip.areaM2,
      groundPlace: 'plan',
      note: '',
    });
    plotIds.set(strip.id, { id: plot.id, areaM2: plot.areaM2 });
  }
  const plotOf = (id: StripId) => plotIds.get(id) as { id: string; areaM2: number };

  const { tank, carrier, catchTestedLocal: _tested, ...sprayerFacts } = scenario.sprayer;
  const sprayer = await createSprayer(lawn.id, {
    ...sprayerFacts,
    tankEnteredValue: tank.value,
    tankEnteredUnit: tank.unit,
    carrierEnteredValue: carrier.value,
    carrierEnteredUnit: carrier.unit,
  });

  const productIds = new Map<string, string>();
  for (const { id, labelRate, labelMax: max, composition, ...facts } of scenario.products) {
    const product = await createProduct({
      ...facts,
      generic: true,
      source: 'invented for the demo',
      composition: composition?.map(({ substance, massShare }) => ({ species: substance, massShare })) ?? null,
      nNitratePercent: 0,
      nUreaPercent: 0,
      nOtherPercent: 0,
      p2o5Percent: 0,
      k2oPercent: 0,
      mnPercent: 0,
      mgPercent: 0,
      znPercent: 0,
      caPercent: 0,
      labelRateEnteredValue: labelRate.value,
      labelRateEnteredUnit: labelRate.unit,
      ...labelMax(max),
      seasonCapKgPerHa: null,
      seasonCapLPerHa: null,
      seasonCapEnteredValue: null,
      seasonCapEnteredUnit: null,
      seasonMostApplications: null,
      mixingKind: null,
      registrationNumber: '',
      priceAmount: null,
      priceCurrency: null,
      pricePerEnteredValue: null,
      pricePerEnteredUnit: null,
      cautions: '',
    });
    productIds.set(id, product.id);
    await writeSetting(demoLawn, { lawnId: lawn.id, productIds: [...productIds.values()] });
  }

  await addWeatherHours(
    lawn.id,
    scenario.weatherHours.map(({ hourStart, ...hour }) => ({
      ...hour,
      windHeightM: 2,
      hourStart: new Date(hourStart),
      source: 'demo',
    })),
  );

  const itemInput = (item: DemoSprayItem, areaM2: number) => ({
    productId: productIds.get(item.productId) as string,
    rateEnteredValue: item.rate.value,
    rateEnteredUnit: item.rate.unit,
    rateKgPerHa: item.rateKgPerHa,
    rateLPerHa: item.rateLPerHa,
    actualKg: item.rateKgPerHa === null ? null : (item.rateKgPerHa * areaM2) / 10_000,
    actualL: item.rateLPerHa === null ? null : (item.rateLPerHa * areaM2) / 10_000,
  });
  for (const spray of scenario.sprays) {
    const plots = spray.stripIds.map((id) => ({ plotId: plotOf(id).id, areaM2: plotOf(id).areaM2 }));
    const areaM2 = plots.reduce((sum, plot) => sum + plot.areaM2, 0);
    const startedAt = at(spray.startedLocal);
    const [hour] = await weatherHoursBetween(
      lawn.id,
      new Date(Math.floor(startedAt.getTime() / HOUR_MS) * HOUR_MS),
      new Date(startedAt.getTime() + 1),
    );
    await createSpray(
      lawn.id,
      {
        state: 'done',
        startedAt,
        endedAt: at(spray.endedLocal),
        sprayerId: sprayer.id,
        carrierLPerHa: spray.carrierLPerHa,
        carrierEnteredValue: spray.carrier.value,
        carrierEnteredUnit: spray.carrier.unit,
        actualVolumeL: spray.actualVolumeL,
        leftoverL: spray.leftoverL,
        waterPh: lawn.waterPh,
        waterAlkalinityMgPerLCaCO3: lawn.waterAlkalinityMgPerLCaCO3,
        airTempC: hour?.airTempC ?? null,
        relHumidityPercent: hour?.relHumidityPercent ?? null,
        windMPerS: hour?.windMPerS ?? null,
        weatherSource: hour ? 'hours' : null,
        note: spray.note,
      },
      [...spray.items].sort((a, b) => a.mixingOrder - b.mixingOrder).map((item) => itemInput(item, areaM2)),
      plots,
    );
  }

  // What else happened to the invented lawn.
  await createEvent(
    lawn.id,
    { kind: 'renovation', at: at('2025-09-14T10:00'), detail: 'overseeded', note: 'Thin along the path.' },
    [],
  );
  await createEvent(
    lawn.id,
    {
      kind: 'product',
      at: at('2026-03-20T17:30'),
      detail: 'weed-control',
      subject: 'Crabgrass granules',
      note: 'Watered in the same evening.',
    },
    [],
  );
  await createEvent(
    lawn.id,
    {
      kind: 'mowing',
      at: at('2026-04-12T16:00'),
      mowingHeightMm: lawn.mowingHeightMm,
      mowingHeightEnteredValue: mowingHeight.value,
      mowingHeightEnteredUnit: mowingHeight.unit,
      mowingDirectionDeg: 45,
      bladeSharpened: true,
    },
    [],
  );
  for (const local of MOWN_LOCAL)
    await createEvent(
      lawn.id,
      {
        kind: 'mowing',
        at: at(local),
        mowingHeightMm: lawn.mowingHeightMm,
        mowingHeightEnteredValue: mowingHeight.value,
        mowingHeightEnteredUnit: mowingHeight.unit,
        mowingDirectionDeg: 45,
        bladeSharpened: false,
      },
      [],
    );
  const water = wateringOf(setting);
  for (const watered of WATERED_LOCAL)
    await createEvent(
      lawn.id,
      {
        kind: 'watering',
        at: at(watered.at),
        waterMm: water.waterMm,
        waterEnteredValue: water.value,
        waterEnteredUnit: water.unit,
        waterMin: watered.minutes,
      },
      [],
    );

  const trialId = await seedTrial(lawn.id, scenario, plotIds, productIds);

  const photoOfDay = new Map<string, string>();
  // A photo is measured and compared on other threads while the next one is drawn.
  let outlined: Promise<unknown> = Promise.resolve();
  for await (const drawn of demoPhotos(scenario)) {
    progress(`Drawing ${drawn.fileName}`);
    const taken = await takePhoto(new Blob([new Uint8Array(drawn.jpeg)]).stream(), {
      lawnId: lawn.id,
      fileName: drawn.fileName,
      viewpointName: drawn.photo.viewpoint,
      modified: undefined,
      now: at(drawn.takenAtLocal),
    });
    if (!taken.ok) throw new Error(taken.message);
    photoOfDay.set(drawn.takenAtLocal.slice(0, 10), taken.photoId);
    await outlined;
    outlined = outlinePlots(
      taken.photoId,
      scenario.strips.map((strip) => ({
        plotId: plotOf(strip.id).id,
        corners: drawn.plotCorners[strip.id].map(([x, y]): [number, number] => [x, y]),
      })),
      'surveyed',
    );
    // Said where it is waited for.
    outlined.catch(() => undefined);
  }
  await outlined;

  await renewLawn(lawn.id);

  await addRatings(
    scenario.ratings.map((rating) => ({
      trialId,
      plotId: plotOf(rating.stripId).id,
      photoId: photoOfDay.get(rating.ratedAtLocal.slice(0, 10)) ?? null,
      rater: rating.rater,
      score: rating.score,
      blind: rating.blind,
      ratedAt: at(rating.ratedAtLocal),
    })),
  );
  await seedPlan(lawn, scenario, plotOf(PLANNED.strip).id, sprayer.id, productIds);
  await writeSetting(demoDone, { seed: scenario.seed });
  return true;
}

/** A plan that lies ready to be opened, printed and sprayed. */
async function seedPlan(
  lawn: Lawn,
  scenario: DemoScenario,
  plotId: string,
  sprayerId: string,
  productIds: ReadonlyMap<string, string>,
): Promise<void> {
  const { carrier, tank } = scenario.sprayer;
  const treatment = scenario.treatments.find((one) => one.id === PLANNED.treatment);
  const text = ({ value, unit }: { value: number; unit: string }) => ({ value: String(value), unit });
  // prettier-ignore
  const typed: TypedPlan = {
    startedLocal: PLANNED.startedLocal, plotIds: [plotId], sprayerId, carrier: text(carrier), tank: text(tank), headroomPercent: '', reservePercent: '', evenLoads: false,
    items: (treatment?.items ?? []).map((item) => ({ productId: productIds.get(item.productId) ?? '', by: 'rate', rate: text(item.rate), nutrient: { value: '', unit: 'lb/1000ft2' }, basis: 'N' })),
    waterPh: String(lawn.waterPh ?? ''), waterAlkalinity: { value: String(lawn.waterAlkalinityMgPerLCaCO3 ?? ''), unit: 'mg/L CaCO3' }, waterHardness: { value: String(lawn.waterHardnessMgPerLCaCO3 ?? ''), unit: 'mg/L CaCO3' },
    targetPh: '', acidAir: 'closed', jarPh: '', airTemp: { value: '', unit: lawn.unitSystem === 'metric' ? 'degC' : 'degF' }, relHumidityPercent: '', wind: { value: '', unit: lawn.unitSystem === 'metric' ? 'm/s' : 'mph' },
    overLimitReason: '', note: PLANNED.note,
  };
  const read = readTypedPlan(typed);
  if (read.wish === null) throw new Error(read.faults.map((fault) => fault.sentence).join(' '));
  const kept = await keepPlan(
    lawn.id,
    { typed, wish: read.wish },
    new Date(instantOfLocal(PLANNED.keptLocal, lawn.timeZone)),
  );
  if (!kept.ok) throw new Error(kept.message);
}

/** The demo's trial on its three strips, as if laid out before the first spray. */
async function seedTrial(
  lawnId: string,
  scenario: DemoScenario,
  plotIds: ReadonlyMap<StripId, { id: string }>,
  productIds: ReadonlyMap<string, string>,
): Promise<string> {
  const { photoDays, ...facts } = scenario.trial;
  const corners = scenario.strips.map((strip) => strip.polygonM.map(([x, y]): PlanPoint => [x, y]));
  const [widthM, lengthM] = [0, 1].map((axis) => Math.max(...corners.flat().map((corner) => corner[axis] ?? 0))) as [
    number,
    number,
  ];
  const [first, second] = corners;
  return createTrial(lawnId, {
    ...facts,
    photoDays,
    layout: {
      originM: [0, 0],
      swathM: scenario.sprayer.swathM,
      passesPerStrip: Math.round(((first?.[1]?.[0] ?? 0) - (first?.[0]?.[0] ?? 0)) / scenario.sprayer.swathM),
      bufferM: (second?.[0]?.[0] ?? 0) - (first?.[1]?.[0] ?? 0),
      alleyM: null,
      blocksInOneRow: false,
      widthM,
      lengthM,
      diagonalM: Math.hypot(widthM, lengthM),
      stakes: scenario.strips.flatMap((strip, i) =>
        (corners[i] ?? []).map(([xM, yM], c) => ({
          label: `${strip.id} ${['far left', 'far right', 'near right', 'near left'][c] ?? ''}`,
          xM,
          yM,
        })),
      ),
    },
    treatments: scenario.treatments.map((treatment) => ({
      name: treatment.name,
      isCheck: treatment.isCheck,
      onSubplots: false,
      carrierLPerHa: null,
      carrierEnteredValue: null,
      carrierEnteredUnit: null,
      items: treatment.items.map((item) => ({
        productId: productIds.get(item.productId) as string,
        rateEnteredValue: item.rate.value,
        rateEnteredUnit: item.rate.unit,
      })),
    })),
    strips: scenario.strips.map((strip, position) => ({
      label: strip.id,
      plot: { id: (plotIds.get(strip.id) as { id: string }).id },
      cornersM: corners[position] ?? [],
      treatment: (scenario.treatments.find((treatment) => treatment.id === strip.treatment) as { name: string }).name,
      subTreatment: null,
      block: 0,
      position,
    })),
  });
}

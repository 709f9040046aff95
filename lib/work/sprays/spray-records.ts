import 'server-only';
import { THOUSAND_SQUARE_FEET_M2 } from '@/lib/units/exact';
import { findLawn } from '@/lib/diary/lawns';
import { spraysBetween, type SprayWithProducts } from '@/lib/diary/sprays';
import { analysisOf } from '@/lib/forms/product-form';
import { analysisFault, NO_NUTRIENTS, nutrientsIn, K_IN_K2O, P_IN_P2O5, totalNPercent } from '@/lib/spray/nutrients';
import { csvField } from '@/lib/trial/long-csv';
import { localOfInstant } from '../diary/lawn-time';

interface Line {
  readonly lawn: { readonly name: string; readonly place: string; readonly timeZone: string };
  readonly spray: SprayWithProducts;
  readonly item: SprayWithProducts['items'][number];
  readonly areaM2: number;
}

const rounded = (value: number | null, figures = 6) => (value === null ? null : Number(value.toPrecision(figures)));
/** What went out where that was recorded, else what was planned. */
const massKg = ({ item }: Line) => item.actualKg ?? item.plannedKg;
const volumeL = ({ item }: Line) => item.actualL ?? item.plannedL;

function nutrients({ item }: Line) {
  const analysis = analysisOf(item.product);
  return item.rateKgPerHa === null || analysisFault(analysis) !== null ? null : nutrientsIn(analysis, item.rateKgPerHa);
}

function guaranteed({ item: { product } }: Line): string {
  const parts = [`${totalNPercent(analysisOf(product))}-${product.p2o5Percent}-${product.k2oPercent}`];
  for (const [name, percent] of [
    ['S', product.sPercent],
    ['Fe', product.fePercent],
    ['Mn', product.mnPercent],
    ['Mg', product.mgPercent],
    ['Zn', product.znPercent],
    ['Ca', product.caPercent],
  ] as const) {
    if (percent > 0) parts.push(`${percent} ${name}`);
  }
  return parts.join(' ');
}

/**
 * One line a product of a spray. The fields are those that the federal restricted-use record asks for (product,
 * registration number, total amount, area, site, date, applicator and certificate number; state agriculture departments
 * of Idaho, Oregon and Minnesota), those that many states add (time, wind, temperature, equipment, target), and those
 * of the Massachusetts turf fertiliser record, 330 CMR 31.07 (address, guaranteed analysis, method, rate).
 */
// prettier-ignore
const COLUMNS: readonly { readonly heading: string; readonly of: (line: Line) => string | number | null }[] = [
  { heading: 'date (yyyy-mm-dd)', of: ({ spray, lawn }) => localOfInstant(spray.startedAt, lawn.timeZone).slice(0, 10) },
  { heading: 'start (local time)', of: ({ spray, lawn }) => localOfInstant(spray.startedAt, lawn.timeZone).slice(11) },
  { heading: 'end (local time)', of: ({ spray, lawn }) => (spray.endedAt === null ? null : localOfInstant(spray.endedAt, lawn.timeZone).slice(11)) },
  { heading: 'time zone', of: ({ lawn }) => lawn.timeZone },
  { heading: 'state (done or planned)', of: ({ spray }) => spray.state },
  { heading: 'lawn', of: ({ lawn }) => lawn.name },
  { heading: 'place or address', of: ({ lawn }) => lawn.place },
  { heading: 'plots', of: ({ spray }) => spray.plots.map((covered) => covered.plot.name).join('; ') },
  { heading: 'site', of: () => 'turfgrass' },
  { heading: 'area treated (m2)', of: ({ areaM2 }) => rounded(areaM2) },
  { heading: 'area treated (1000 ft2)', of: ({ areaM2 }) => rounded(areaM2 / THOUSAND_SQUARE_FEET_M2) },
  { heading: 'product', of: ({ item }) => item.product.name },
  { heading: 'registration number', of: ({ item }) => item.product.registrationNumber },
  { heading: 'guaranteed analysis (N-P2O5-K2O and others, % by weight)', of: guaranteed },
  { heading: 'purpose', of: ({ item }) => item.product.role },
  { heading: 'total product, undiluted (kg)', of: (line) => rounded(massKg(line)) },
  { heading: 'total product, undiluted (L)', of: (line) => rounded(volumeL(line)) },
  { heading: 'planned product (kg)', of: ({ item }) => rounded(item.plannedKg) },
  { heading: 'planned product (L)', of: ({ item }) => rounded(item.plannedL) },
  { heading: 'rate as entered', of: ({ item }) => item.rateEnteredValue },
  { heading: 'rate as entered: unit', of: ({ item }) => item.rateEnteredUnit },
  { heading: 'rate (kg/ha)', of: ({ item }) => rounded(item.rateKgPerHa) },
  { heading: 'rate (L/ha)', of: ({ item }) => rounded(item.rateLPerHa) },
  { heading: 'N (kg/ha)', of: (line) => rounded((nutrients(line) ?? NO_NUTRIENTS).N) },
  { heading: 'P2O5 (kg/ha)', of: (line) => rounded((nutrients(line) ?? NO_NUTRIENTS).P / P_IN_P2O5) },
  { heading: 'K2O (kg/ha)', of: (line) => rounded((nutrients(line) ?? NO_NUTRIENTS).K / K_IN_K2O) },
  { heading: 'Fe (kg/ha)', of: (line) => rounded((nutrients(line) ?? NO_NUTRIENTS).Fe) },
  { heading: 'method', of: () => 'spray to the leaf' },
  { heading: 'equipment', of: ({ spray }) => spray.sprayer?.name ?? null },
  { heading: 'carrier volume (L/ha)', of: ({ spray }) => rounded(spray.carrierLPerHa) },
  { heading: 'mix planned (L)', of: ({ spray }) => rounded(spray.plannedVolumeL) },
  { heading: 'mix sprayed (L)', of: ({ spray }) => rounded(spray.actualVolumeL) },
  { heading: 'left over (L)', of: ({ spray }) => rounded(spray.leftoverL) },
  { heading: 'water pH', of: ({ spray }) => spray.waterPh },
  { heading: 'water alkalinity (mg/L as CaCO3)', of: ({ spray }) => rounded(spray.waterAlkalinityMgPerLCaCO3) },
  { heading: 'mix pH, worked out', of: ({ spray }) => rounded(spray.predictedPh, 3) },
  { heading: 'mix pH, measured', of: ({ spray }) => spray.measuredPh },
  { heading: 'air temperature (degC)', of: ({ spray }) => rounded(spray.airTempC, 4) },
  { heading: 'relative humidity (%)', of: ({ spray }) => rounded(spray.relHumidityPercent, 4) },
  { heading: 'wind speed (m/s)', of: ({ spray }) => rounded(spray.windMPerS, 4) },
  { heading: 'wind from (degrees)', of: ({ spray }) => spray.windFromDeg },
  { heading: 'applicator', of: ({ spray }) => spray.applicator },
  { heading: 'applicator certificate or licence number', of: ({ spray }) => spray.applicatorLicence },
  { heading: 'reason for going past a label limit', of: ({ spray }) => spray.overLimitReason },
  { heading: 'note', of: ({ spray }) => spray.note },
];

/** Sprays of a lawn as CSV (RFC 4180, CRLF), oldest first, plans left out; null when there is no such lawn. */
export async function sprayRecordsCsv(lawnId: string): Promise<string | null> {
  const lawn = await findLawn(lawnId);
  if (!lawn) return null;
  const sprays = (await spraysBetween(lawnId, null, null)).filter((spray) => spray.state === 'done');
  const lines = sprays.flatMap((spray) => {
    const areaM2 = spray.plots.reduce((sum, plot) => sum + plot.areaM2, 0);
    return spray.items.map((item): Line => ({ lawn, spray, item, areaM2 }));
  });
  const rows = [
    COLUMNS.map((column) => csvField(column.heading)),
    ...lines.map((line) => COLUMNS.map((column) => csvField(column.of(line)))),
  ];
  return rows.map((row) => `${row.join(',')}\r\n`).join('');
}

import { DAY_MS } from '@/lib/units/time';
import { expectNotNegative, expectPositive } from '@/lib/expect';
import { significant } from '@/lib/units/display';
import { type Application, gapMs, ONE_APPLICATION_MS, type Role } from './application';
import { type Check, LABEL } from './check';
import type { AreaDose } from './product-rate';
import { quantity } from '@/lib/units/quantity';

/** Roles for which a second product counts: an acidifier or a surfactant may come with every spray. */
const NUTRIENT_ROLES: readonly Role[] = ['nitrogen', 'phosphorus', 'potassium', 'iron', 'manganese', 'magnesium'];

/**
 * Over what a season cap is summed. A rolling window is any that holds the planned spray, later ones in the diary
 * included.
 */
export type SeasonWindow =
  | { readonly kind: 'between'; readonly fromMs: number; readonly toMs: number }
  | { readonly kind: 'rolling'; readonly days: number };

export interface LabelLimits {
  /** Most per application. */
  readonly maxPerApplication: AreaDose | null;
  readonly minIntervalDays: number | null;
  readonly seasonCap: {
    readonly window: SeasonWindow;
    readonly most: AreaDose | null;
    readonly mostApplications: number | null;
  } | null;
}

interface Basis {
  readonly unit: 'kg/ha' | 'L/ha';
  readonly kind: 'dryRate' | 'liquidRate';
  readonly most: number;
  readonly of: (dose: AreaDose) => number | null;
}

/** The basis a limit is printed on: by volume if it has one, since that is how a liquid is measured. */
function basisOf(limit: AreaDose): Basis | null {
  if (limit.volumeLPerHa !== null)
    return { unit: 'L/ha', kind: 'liquidRate', most: limit.volumeLPerHa, of: (dose) => dose.volumeLPerHa };
  return limit.massKgPerHa === null
    ? null
    : { unit: 'kg/ha', kind: 'dryRate', most: limit.massKgPerHa, of: (dose) => dose.massKgPerHa };
}

/** The same limit by weight, for doses known by weight only. */
function massBasisOf(limit: AreaDose): Basis | null {
  return limit.massKgPerHa === null
    ? null
    : { unit: 'kg/ha', kind: 'dryRate', most: limit.massKgPerHa, of: (dose) => dose.massKgPerHa };
}

/** Sum of doses on a limit's basis, or null when one of them isn't known on any basis the limit has. */
function sumOn(limit: AreaDose, doses: readonly AreaDose[]): { readonly basis: Basis; readonly sum: number } | null {
  for (const basis of [basisOf(limit), massBasisOf(limit)]) {
    if (basis === null) continue;
    const values = doses.map(basis.of);
    if (values.every((value) => value !== null))
      return { basis, sum: values.reduce<number>((sum, value) => sum + (value ?? 0), 0) };
  }
  return null;
}

const onPlot = (plotId: string) => (application: Application) => application.plotIds.includes(plotId);
/** Float noise: a rate converted there and back is not over its own limit. */
const isOver = (value: number, limit: number) => value > limit * (1 + 1e-9);

/**
 * A planned spray against its label, plot by plot, over the diary's own sprays: most per application (sprays of the
 * product that overlap or lie within 12 h are added up), shortest interval to the nearest spray before or after, season
 * amount and number, and the interval to another product of the same nutrient role.
 * @param planned one product of the plan; an entry of `others` with its id is the plan itself and is passed over
 * @returns one check for each limit and plot; `clear` ones too, so that the number is seen
 * @throws RangeError for a limit below 0 or a spray that ends before it starts
 */
export function labelChecks(
  planned: Application,
  limits: LabelLimits,
  others: readonly Application[],
): readonly Check[] {
  for (const one of [planned, ...others])
    expectNotNegative(`duration of spray ${one.id}`, one.endMs - one.startMs, 'ms');
  const rest = others.filter((other) => other.id !== planned.id);
  return planned.plotIds.flatMap((plotId) => {
    const here = rest.filter(onPlot(plotId));
    const same = here.filter((other) => other.productId === planned.productId);
    return [
      ...rateCheck(plotId, planned, limits, same),
      ...intervalCheck(plotId, planned, limits, same),
      ...seasonChecks(plotId, planned, limits, same),
      ...roleChecks(plotId, planned, limits, here),
    ];
  });
}

function rateCheck(
  plotId: string,
  planned: Application,
  limits: LabelLimits,
  same: readonly Application[],
): readonly Check[] {
  const limit = limits.maxPerApplication;
  if (limit === null) return [];
  const together = same.filter((other) => gapMs(planned, other) < ONE_APPLICATION_MS);
  const found = sumOn(
    limit,
    [planned, ...together].map((one) => one.dose),
  );
  const withOthers = together.length > 0 ? ` together with ${together.length} more within 12 h` : '';
  return [
    amountCheck('label-rate', plotId, planned, found, limit, `a spray${withOthers}`, 'Lower the rate to the label.'),
  ];
}

function amountCheck(
  code: Check['code'],
  plotId: string,
  planned: Application,
  found: ReturnType<typeof sumOn>,
  limit: AreaDose,
  what: string,
  fix: string,
): Check {
  const shared = { code, subject: plotId, source: LABEL };
  if (found === null) {
    const basis = basisOf(limit);
    return {
      ...shared,
      level: 'caution',
      value: null,
      limit: basis?.most ?? null,
      unit: basis?.unit ?? 'kg/ha',
      sentence: `${planned.productName} can't be held against its label: the label's limit and the amount are on different bases.`,
      fix: 'Give the density of the product.',
    };
  }
  const { basis, sum } = found;
  const most = expectNotNegative('label limit', basis.most, basis.unit);
  const over = isOver(sum, most);
  return {
    ...shared,
    level: over ? 'over-label' : 'clear',
    value: sum,
    limit: most,
    unit: basis.unit,
    fix: over ? fix : '',
    sentence: `${planned.productName}: ${quantity(basis.kind, sum)} in ${what}; the label allows ${quantity(basis.kind, most)}.`,
  };
}

function intervalCheck(
  plotId: string,
  planned: Application,
  limits: LabelLimits,
  same: readonly Application[],
): readonly Check[] {
  const least = limits.minIntervalDays;
  if (least === null) return [];
  expectNotNegative('label interval', least, 'days');
  const nearest = same
    .filter((other) => gapMs(planned, other) >= ONE_APPLICATION_MS || least < 0.5)
    .reduce<Application | null>(
      (best, other) => (best === null || gapMs(planned, other) < gapMs(planned, best) ? other : best),
      null,
    );
  if (nearest === null) {
    return [
      {
        code: 'label-interval',
        level: 'clear',
        subject: plotId,
        value: null,
        limit: least,
        unit: 'days',
        source: LABEL,
        fix: '',
        sentence: `${planned.productName}: no other spray of it here; the label asks for ${significant(least)} days between.`,
      },
    ];
  }
  const days = gapMs(planned, nearest) / DAY_MS;
  const short = days < least * (1 - 1e-9);
  const when = nearest.startMs < planned.startMs ? 'since the last' : 'before the next';
  return [
    {
      code: 'label-interval',
      level: short ? 'over-label' : 'clear',
      subject: plotId,
      value: days,
      limit: least,
      unit: 'days',
      source: LABEL,
      sentence: `${planned.productName}: ${significant(days)} days ${when}; the label asks for ${significant(least)}.`,
      fix: short ? `Wait ${significant(least - days, 2)} more days, or leave the plot out.` : '',
    },
  ];
}

/**
 * The sprays of the window that, with the planned one, come to the most; for a rolling window every one that holds it
 * is tried.
 */
function inWindow(
  planned: Application,
  same: readonly Application[],
  window: SeasonWindow,
): readonly (readonly Application[])[] {
  if (window.kind === 'between')
    return [same.filter((other) => other.startMs >= window.fromMs && other.startMs < window.toMs)];
  const length = expectPositive('season window', window.days, 'days') * DAY_MS;
  const starts = [planned, ...same]
    .map((one) => one.startMs)
    .filter((start) => start <= planned.startMs && start > planned.startMs - length);
  return starts.map((start) => same.filter((other) => other.startMs >= start && other.startMs < start + length));
}

function seasonChecks(
  plotId: string,
  planned: Application,
  limits: LabelLimits,
  same: readonly Application[],
): readonly Check[] {
  const cap = limits.seasonCap;
  if (cap === null) return [];
  const checks: Check[] = [];
  const candidates = inWindow(planned, same, cap.window);
  const span = cap.window.kind === 'rolling' ? `any ${cap.window.days} days` : 'the season';
  if (cap.most !== null) {
    const most = cap.most;
    const sums = candidates.map((list) =>
      sumOn(
        most,
        [planned, ...list].map((one) => one.dose),
      ),
    );
    const unknown = sums.some((found) => found === null);
    const largest = sums.reduce(
      (best, found) => (best === null || (found !== null && found.sum > best.sum) ? found : best),
      null,
    );
    checks.push(
      amountCheck(
        'label-season-amount',
        plotId,
        planned,
        unknown ? null : largest,
        most,
        span,
        'Lower the rate, or leave this plot out until the next season.',
      ),
    );
  }
  if (cap.mostApplications !== null) {
    const count = Math.max(...candidates.map((list) => applicationsIn([planned, ...list])));
    const over = count > cap.mostApplications;
    checks.push({
      code: 'label-season-applications',
      level: over ? 'over-label' : 'clear',
      subject: plotId,
      value: count,
      limit: cap.mostApplications,
      unit: 'applications',
      source: LABEL,
      sentence: `${planned.productName}: application ${count} in ${span}; the label allows ${cap.mostApplications}.`,
      fix: over ? 'Leave this plot out until the next season.' : '',
    });
  }
  return checks;
}

/** Applications among sprays: those within 12 h of one another are one. */
function applicationsIn(sprays: readonly Application[]): number {
  const sorted = [...sprays].sort((a, b) => a.startMs - b.startMs);
  let count = 0;
  let end = Number.NEGATIVE_INFINITY;
  for (const spray of sorted) {
    if (spray.startMs - end >= ONE_APPLICATION_MS) count += 1;
    end = Math.max(end, spray.endMs);
  }
  return count;
}

function roleChecks(
  plotId: string,
  planned: Application,
  limits: LabelLimits,
  here: readonly Application[],
): readonly Check[] {
  return NUTRIENT_ROLES.filter((role) => planned.roles.includes(role)).flatMap((role) => {
    const close = here
      .filter((other) => other.productId !== planned.productId && other.roles.includes(role))
      .map((other) => ({
        other,
        least: Math.max(limits.minIntervalDays ?? 0, other.minIntervalDays ?? 0),
        days: gapMs(planned, other) / DAY_MS,
      }))
      .filter(({ least, days }) => days < least * (1 - 1e-9));
    return close.map(({ other, least, days }): Check => ({
      code: 'role-interval',
      level: 'caution',
      subject: plotId,
      value: days,
      limit: least,
      unit: 'days',
      source: 'the longer interval of the two labels; that it holds across products is common practice, no source',
      sentence: `${planned.productName} and ${other.productName} both bring ${role}, ${significant(days)} days apart; the longer of their label intervals is ${significant(least)}.`,
      fix: `Wait ${significant(least - days, 2)} more days, or leave the plot out.`,
    }));
  });
}

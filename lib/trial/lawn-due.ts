/**
 * What a lawn asks for: photos after sprays, ratings, when a product may go on again, plans. Days are civil dates of
 * the lawn.
 */
import { addDays, whatIsDue, type DueItem } from '@/lib/trial/due';
import { listed } from '@/lib/trial/wording';
import { dateText, momentText, timeText, type Reader } from '@/lib/units/dates';

/**
 * Days after a spray on which a photo shows its response: green-up by iron within a day or two, by nitrogen within a
 * week. Common practice, no source.
 */
export const PHOTO_DUE_DAYS: readonly number[] = [1, 3, 7, 14];
/** What was missed is named for so long; what comes is listed so far ahead. Our own choice, no source. */
export const LOOK_BACK_DAYS = 14;
const LOOK_AHEAD_DAYS = 30;

export interface NamedPlot {
  readonly id: string;
  readonly name: string;
}

/** Why something is due: a day after a spray, or of a trial (day 0: before its first spray). */
export type DueReason =
  | { readonly of: 'spray'; readonly id: string; readonly on: string; readonly day: number }
  | { readonly of: 'trial'; readonly id: string; readonly name: string; readonly day: number };

/** Hours fit for spraying, as the weather known has them. */
export interface OpenWindow {
  readonly fromMs: number;
  readonly toMs: number;
  readonly verdict: 'suitable' | 'doubtful';
}

export interface DueThing {
  readonly kind: 'photos' | 'ratings' | 'trial-spray' | 'product' | 'plan';
  /** The same for the same thing whenever it is asked, so that a calendar replaces its entry instead of adding one. */
  readonly key: string;
  readonly on: string;
  /** 'late' still counts; 'missing' no longer does. */
  readonly state: 'missing' | 'late' | 'today' | 'later';
  readonly plots: readonly string[];
  readonly reasons: readonly DueReason[];
  /**
   * Of a product: its name, the days its label asks for, and the instant they are over; of a plan: when it is to begin.
   */
  readonly product?: { readonly id: string; readonly name: string; readonly intervalDays: number };
  readonly plan?: { readonly id: string; readonly window: OpenWindow | null };
  readonly atMs?: number;
}

export interface LawnDueInput {
  readonly today: string;
  /** Done, in any order. */
  readonly sprays: readonly { readonly id: string; readonly on: string; readonly plots: readonly NamedPlot[] }[];
  /** A photo without outlines may show any plot. */
  readonly photos: readonly { readonly on: string; readonly plotIds: readonly string[] }[];
  readonly trials: readonly { readonly id: string; readonly name: string; readonly days: readonly DueItem[] }[];
  /** The last time each product with an interval, or for iron any product with iron, went onto each plot. */
  readonly intervals: readonly {
    readonly productId: string;
    readonly name: string;
    readonly intervalDays: number;
    readonly plot: NamedPlot;
    readonly allowedOn: string;
    readonly allowedAtMs: number;
  }[];
  /** With the next window for it, where the coming hours are known. */
  readonly plans: readonly {
    readonly id: string;
    readonly on: string;
    readonly atMs: number;
    readonly plots: readonly NamedPlot[];
    readonly window?: OpenWindow | null;
  }[];
}

const stateOn = (on: string, today: string): DueThing['state'] =>
  on > today ? 'later' : on === today ? 'today' : 'late';

/** Everything due from two weeks ago to a month ahead, in order of date. */
export function lawnDue(input: LawnDueInput): DueThing[] {
  const { today } = input;
  const [from, to] = [addDays(today, -LOOK_BACK_DAYS), addDays(today, LOOK_AHEAD_DAYS)];
  const wanted: {
    on: string;
    state: DueThing['state'];
    plots: readonly string[];
    reason: DueReason;
    kind: DueThing['kind'];
  }[] = [...afterSprays(input), ...ofTrials(input)].filter(({ on }) => on >= from && on <= to);
  const things: DueThing[] = [];
  for (const kind of ['photos', 'ratings', 'trial-spray'] as const) {
    const ofKind = wanted.filter((one) => one.kind === kind);
    // What one walk to the lawn does is one thing, whatever asks for it.
    for (const on of new Set(ofKind.map((one) => one.on))) {
      for (const state of ['missing', 'late', 'today', 'later'] as const) {
        const together = ofKind.filter((one) => one.on === on && one.state === state);
        if (together.length === 0) continue;
        const known = things.some((thing) => thing.key === `${kind}-${on}`);
        things.push({
          kind,
          on,
          state,
          key: known ? `${kind}-${on}-${state}` : `${kind}-${on}`,
          plots: [...new Set(together.flatMap((one) => one.plots))],
          reasons: together.map((one) => one.reason),
        });
      }
    }
  }
  for (const plan of input.plans.filter(({ on }) => on >= addDays(today, -1) && on <= to)) {
    things.push({
      kind: 'plan',
      on: plan.on,
      state: stateOn(plan.on, today),
      key: `plan-${plan.id}`,
      plots: plan.plots.map((plot) => plot.name),
      reasons: [],
      plan: { id: plan.id, window: plan.window ?? null },
      atMs: plan.atMs,
    });
  }
  const open = input.intervals.filter(({ allowedOn }) => allowedOn >= today && allowedOn <= to);
  for (const key of new Set(open.map((one) => `${one.productId}-${one.allowedOn}`))) {
    const together = open.filter((one) => `${one.productId}-${one.allowedOn}` === key);
    const [first] = together as [(typeof open)[number], ...typeof open];
    things.push({
      kind: 'product',
      on: first.allowedOn,
      state: stateOn(first.allowedOn, today),
      key: `product-${key}`,
      plots: together.map((one) => one.plot.name),
      reasons: [],
      product: { id: first.productId, name: first.name, intervalDays: first.intervalDays },
      // The last plot's hour holds for all of them.
      atMs: Math.max(...together.map((one) => one.allowedAtMs)),
    });
  }
  const order = { plan: 0, photos: 1, ratings: 2, 'trial-spray': 3, product: 4 };
  return things.sort((a, b) => a.on.localeCompare(b.on) || order[a.kind] - order[b.kind] || a.key.localeCompare(b.key));
}

const STATES: Readonly<Record<Exclude<DueItem['state'], 'done'>, DueThing['state']>> = {
  due: 'today',
  late: 'late',
  missed: 'missing',
  later: 'later',
};

/** Photos on the days after each spray, of each plot until it is sprayed again. */
function afterSprays({ sprays, photos: all, today }: LawnDueInput) {
  // Two photos of one day that show the same plots say the same.
  const photos = [
    ...new Map(all.map((photo) => [`${photo.on} ${photo.plotIds.toSorted().join(' ')}`, photo])).values(),
  ];
  return sprays.flatMap((spray) => {
    const done = photos.flatMap((photo) =>
      spray.plots
        .filter((plot) => photo.plotIds.length === 0 || photo.plotIds.includes(plot.id))
        .map((plot) => ({ kind: 'photo' as const, on: photo.on, plot: plot.id })),
    );
    const again = new Map(
      spray.plots.map((plot) => [
        plot.id,
        sprays
          .filter((other) => other.on > spray.on && other.plots.some((one) => one.id === plot.id))
          .map((other) => other.on)
          .sort()[0] ?? null,
      ]),
    );
    return whatIsDue(
      {
        firstSprayOn: spray.on,
        photoDays: PHOTO_DUE_DAYS,
        ratingDays: [],
        plots: spray.plots.map((plot) => plot.id),
        done,
      },
      today,
    ).flatMap((item) => {
      const plots = spray.plots.filter(
        (plot) =>
          item.missingPlots.includes(plot.id) && (again.get(plot.id) === null || item.plannedOn <= again.get(plot.id)!),
      );
      if (item.kind !== 'photo' || item.state === 'done' || plots.length === 0) return [];
      return [
        {
          kind: 'photos' as const,
          on: item.plannedOn,
          state: STATES[item.state],
          plots: plots.map((plot) => plot.name),
          reason: { of: 'spray' as const, id: spray.id, on: spray.on, day: item.dayOfTrial },
        },
      ];
    });
  });
}

function ofTrials({ trials }: LawnDueInput) {
  const kinds = { photo: 'photos', rating: 'ratings', spray: 'trial-spray' } as const;
  return trials.flatMap(({ id, name, days }) =>
    days.flatMap((item) =>
      item.state === 'done'
        ? []
        : [
            {
              kind: kinds[item.kind],
              on: item.plannedOn,
              state: STATES[item.state],
              plots: item.missingPlots,
              reason: { of: 'trial' as const, id, name, day: item.dayOfTrial },
            },
          ],
    ),
  );
}

/** What is due and why, in words: the same on the page and in the calendar file. */
export function dueText(
  { kind, plots, reasons, product, plan, atMs }: DueThing,
  reader: Reader,
): { title: string; why: string } {
  const of = plots.length > 6 ? `${plots.length} plots` : listed(plots);
  const said = listed(
    reasons.map((reason) =>
      reason.of === 'spray'
        ? `day ${reason.day} after the spray of ${dateText(reason.on, reader)}`
        : reason.day <= 0
          ? `${reason.name}, before its first spray`
          : `${reason.name}, day ${reason.day}`,
    ),
  );
  const why = said.charAt(0).toUpperCase() + said.slice(1);
  switch (kind) {
    case 'photos':
      return { title: `Photograph ${of}`, why: `${why}. Same place, same hour, the check in the same photo.` };
    case 'ratings':
      return { title: `Rate ${of}`, why: `${why}. Rate blind, before looking at the numbers.` };
    case 'trial-spray':
      return { title: `Spray ${of}`, why: `${why}. Photograph first.` };
    case 'product':
      return {
        title: `${product!.name}: its label’s ${product!.intervalDays} days are over on ${of}`,
        why: `${atMs === undefined ? '' : `From ${momentText(atMs, reader)}. `}No reason to spray by itself; the label’s other limits hold.`,
      };
    case 'plan':
      return {
        title: `Planned spray of ${of}`,
        why: `${atMs === undefined ? '' : `Begins ${momentText(atMs, reader)}.`}${plan?.window ? ` By the weather known ${plan.window.verdict === 'suitable' ? 'a window opens' : 'the best there is, with doubts,'} ${momentText(plan.window.fromMs, reader)} to ${timeText(plan.window.toMs, reader)}.` : ''}`,
      };
  }
}

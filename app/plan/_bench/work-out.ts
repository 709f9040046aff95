'use client';
import type { Choice } from '@/app/_ui/field';
import { planSpray } from '@/lib/plan/plan-spray';
import { type PlanFacts, type SprayPlan } from '@/lib/plan/spray-plan';
import { readTypedPlan, type FieldFault, type CanonicalPlan, type TypedPlan } from '@/lib/plan/typed-plan';
import { needingReason } from '@/lib/spray/check';
import { instantMsOfLocal } from '@/lib/weather/local-text';
import type { ItemUnits } from './bench-items';
import type { WhatIf } from './what-if';

export interface BenchUnits extends ItemUnits {
  carrier: readonly Choice[];
  tank: readonly Choice[];
  alkalinity: readonly Choice[];
  temperature: readonly Choice[];
  speed: readonly Choice[];
}

export interface SprayerStart {
  id: string;
  carrier: { value: string; unit: string } | null;
  tank: { value: string; unit: string };
}

/**
 * A sprayer picked later fills what it knows; what was typed by hand in units it doesn't know is replaced, as its card
 * says.
 */
export function withSprayer(typed: TypedPlan, sprayer: SprayerStart | undefined, id: string): TypedPlan {
  if (!sprayer) return { ...typed, sprayerId: id };
  return { ...typed, sprayerId: id, tank: sprayer.tank, carrier: sprayer.carrier ?? typed.carrier };
}

interface Worked {
  wish: CanonicalPlan | null;
  facts: PlanFacts;
  plan: SprayPlan | null;
  faults: ReadonlyMap<string, FieldFault>;
}

export function workedOut(typed: TypedPlan, known: PlanFacts): Worked {
  const read = readTypedPlan(typed);
  if (read.wish === null)
    return { wish: null, facts: known, plan: null, faults: new Map(read.faults.map((fault) => [fault.field, fault])) };
  const facts = { ...known, startMs: instantMsOfLocal(typed.startedLocal, known.timeZone) };
  const { plan, faults } = planSpray(read.wish, facts);
  const all =
    plan !== null && needingReason(plan.checks).length > 0 && read.wish.overLimitReason === ''
      ? [
          ...faults,
          {
            field: 'overLimitReason',
            kind: 'missing' as const,
            sentence: 'Reason: expected why this plan goes past a label limit, got nothing',
          },
        ]
      : faults;
  return { wish: read.wish, facts, plan, faults: new Map(all.map((fault) => [fault.field, fault])) };
}

/** Numbers typed into a slider's field again: six figures are more than anyone measures. */
const typedNumber = (value: number) => String(Number(value.toPrecision(6)));

export function withWhatIf(typed: TypedPlan, whatIf: WhatIf): TypedPlan {
  const times = (text: string, share: number) =>
    share === 1 || text.trim() === '' ? text : typedNumber(Number(text.replace(',', '.')) * share);
  return {
    ...typed,
    targetPh: whatIf.targetPH === null ? typed.targetPh : String(whatIf.targetPH),
    waterAlkalinity:
      whatIf.alkalinityMgPerLCaCO3 === null
        ? typed.waterAlkalinity
        : { value: typedNumber(whatIf.alkalinityMgPerLCaCO3), unit: 'mg/L CaCO3' },
    carrier: { ...typed.carrier, value: times(typed.carrier.value, whatIf.carrierShare) },
    items: typed.items.map((item) => ({
      ...item,
      rate: { ...item.rate, value: times(item.rate.value, whatIf.rateShare) },
      nutrient: { ...item.nutrient, value: times(item.nutrient.value, whatIf.rateShare) },
    })),
  };
}

/** A draft of this page from before a reload; anything that isn't one is passed over. */
export function readBenchDraft(key: string): Partial<TypedPlan> {
  const kept: unknown = JSON.parse(sessionStorage.getItem(key) ?? '{}');
  return typeof kept === 'object' && kept !== null && Array.isArray((kept as TypedPlan).items)
    ? (kept as TypedPlan)
    : {};
}

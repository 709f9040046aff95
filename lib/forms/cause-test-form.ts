import { z } from 'zod';
import { CAUSE_FACTORS, type CauseFactorId } from '@/lib/explain/cause-test';
import { LENGTH_UNITS, toM } from '@/lib/units/length';
import {
  amountField,
  choiceField,
  numberField,
  optionalAmountField,
  optionalTextField,
  textField,
  tickField,
} from './fields';

/** A small trial of a mark's likely causes: which factors, how many blocks, how large and where. Metres out. */
export const CauseTestForm = z
  .object({
    name: textField('Name', 80),
    startsOn: z
      .string({ error: 'First spray: expected a date, got nothing' })
      .refine((value) => /^\d{4}-\d{2}-\d{2}$/.test(value) && !Number.isNaN(Date.parse(`${value}T00:00:00Z`)), {
        error: (issue) => `First spray: expected a date such as 2026-05-01, got '${String(issue.input)}'`,
      }),
    fraction: choiceField('Combinations', ['full', 'half']),
    blocks: numberField('Blocks', { min: 2, max: 12, whole: true }),
    seed: numberField('Seed', { min: 0, max: 2_000_000_000, whole: true }),
    swath: amountField('Swath', LENGTH_UNITS, { above: 0, max: 3000 }),
    stripLength: amountField('Strip length', LENGTH_UNITS, { above: 0, max: 100_000 }),
    originX: optionalAmountField('Right of the lawn’s left stake', LENGTH_UNITS, { min: -100_000, max: 100_000 }),
    originY: optionalAmountField('Beyond the lawn’s left stake', LENGTH_UNITS, { min: -100_000, max: 100_000 }),
    where: optionalTextField('Where', 300),
    carrier: tickField,
    iron: tickField,
    surfactant: tickField,
    hour: tickField,
    strength: tickField,
  })
  .transform(
    ({ swath, stripLength, originX, originY, carrier, iron, surfactant, hour, strength, ...rest }, context) => {
      const ticked: Record<CauseFactorId, boolean> = { carrier, iron, surfactant, hour, strength };
      const factors = CAUSE_FACTORS.filter((factor) => ticked[factor.id]).map((factor) => factor.id);
      if (factors.length < 1 || factors.length > 3) {
        context.addIssue({
          code: 'custom',
          path: ['factors'],
          message: `What to change: expected 1 to 3 things, got ${factors.length}`,
        });
        return z.NEVER;
      }
      if (rest.fraction === 'half' && factors.length !== 3) {
        context.addIssue({
          code: 'custom',
          path: ['fraction'],
          message: `Half of the combinations: expected 3 things to change, got ${factors.length}`,
        });
        return z.NEVER;
      }
      return {
        ...rest,
        factors,
        swathM: toM(swath),
        stripLengthM: toM(stripLength),
        originM: [originX ? toM(originX) : 0, originY ? toM(originY) : 0] as [number, number],
      };
    },
  );

export type CauseTestEntry = z.output<typeof CauseTestForm>;

import type { FieldFault } from '@/lib/plan/typed-plan';
import { readTypedNumber } from '@/lib/units/typed-number';

/** What was typed, where it is a number above 0. */
export const above0 = (text: string) => {
  const value = readTypedNumber(text);
  return Number.isFinite(value) && value > 0 ? value : null;
};

/** What is wrong with a number typed here, at once; nothing while the field is empty. */
export const faultOf = (field: string, label: string, text: string): [string, FieldFault][] =>
  text.trim() === '' || above0(text) !== null
    ? []
    : [[field, { field, kind: 'wrong', sentence: `${label}: expected a number above 0, got '${text.trim()}'` }]];

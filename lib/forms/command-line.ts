import { z } from 'zod';

/** A whole number from a command line, or the value to use when it is not given. @throws Error with one sentence */
export function wholeArgument(
  name: string,
  text: string | undefined,
  limits: { min: number; max: number; otherwise?: number },
): number {
  if (text === undefined && limits.otherwise !== undefined) return limits.otherwise;
  const expected = `--${name}: expected a whole number from ${limits.min} to ${limits.max}, got ${text === undefined ? 'nothing' : `'${text}'`}`;
  const parsed = z
    .string()
    .regex(/^\d+$/)
    .transform(Number)
    .pipe(z.number().int().min(limits.min).max(limits.max))
    .safeParse(text);
  if (!parsed.success) throw new Error(expected);
  return parsed.data;
}

import path from 'node:path';
import { z } from 'zod';

/** The environment, checked once: every variable this program reads. */
const Environment = z.object({
  SWATHBOOK_DATA: z.string().min(1, 'SWATHBOOK_DATA: expected a folder, got an empty string').default('data'),
  HOST: z.string().min(1, 'HOST: expected an address, got an empty string').default('127.0.0.1'),
  PORT: z.coerce
    .number('PORT: expected a whole number from 1 to 65535')
    .int('PORT: expected a whole number from 1 to 65535')
    .min(1, 'PORT: expected a whole number from 1 to 65535')
    .max(65535, 'PORT: expected a whole number from 1 to 65535')
    .default(3000),
});

export type Environment = z.infer<typeof Environment>;

/** Reads and checks the environment. @throws Error with one sentence for the first variable that is off */
export function readEnvironment(source: Record<string, string | undefined> = process.env): Environment {
  const parsed = Environment.safeParse(source);
  if (!parsed.success) throw new Error(parsed.error.issues[0]?.message ?? 'The environment could not be read.');
  return parsed.data;
}

/** The folder that holds the database and the photos, as an absolute path. */
export function dataFolder(): string {
  return path.resolve(readEnvironment().SWATHBOOK_DATA);
}

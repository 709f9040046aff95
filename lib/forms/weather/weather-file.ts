import { z } from 'zod';
import { idField } from '@/lib/forms/fields';

/** The address of an upload: PUT /api/weather/files?lawn=…&name=… */
export const WeatherUploadQuery = z.object({
  lawn: idField,
  name: z
    .string({ error: 'name: expected the file’s name, got nothing' })
    .trim()
    .min(1, 'name: expected the file’s name, got nothing')
    .max(255, 'name: expected at most 255 characters')
    .transform((name) => name.replaceAll(/[\p{Cc}/\\]/gu, '_')),
});

/**
 * What is asked of a waiting file: to be read through, or read and taken in. The mapping is checked where the file is
 * read.
 */
export const WeatherFileOrder = z.object({
  lawn: idField,
  write: z.boolean({ error: 'write: expected true or false' }),
  mapping: z.unknown(),
});

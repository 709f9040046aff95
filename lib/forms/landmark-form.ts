import { z } from 'zod';
import { idField, textField } from './fields';

const coordinate = z
  .number({ error: 'Place: expected two numbers, in pixels of the photo' })
  .min(-100_000)
  .max(100_000);
const place = z.tuple([coordinate, coordinate]);

const Sighting = z.object({
  landmarkId: idField.nullable(),
  from: z.object({ photoId: idField, at: place }),
  /** Null: a person said that it is not in this photo. */
  at: place.nullable(),
});
export type SightingEntry = z.infer<typeof Sighting>;

/** JSON in a hidden field, or nothing at all. */
function jsonField(label: string) {
  return z.string().transform((text, context): unknown => {
    try {
      return JSON.parse(text);
    } catch {
      context.addIssue({ code: 'custom', message: `${label}: expected the page’s own JSON, got something else` });
      return z.NEVER;
    }
  });
}

/** What was found when the page asked for things in a photo. */
export const sightingsField = jsonField('Things found')
  .pipe(z.array(Sighting).max(40, 'Things found: expected at most 40'))
  .optional()
  .default([]);

/** A thing pointed out on a photo. */
export const LandmarkForm = z.object({
  name: textField('Name', 60),
  at: jsonField('Place').pipe(place),
});

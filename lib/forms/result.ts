/** What a server action gives back: done (with a word to the person, or none), or a sentence for each field that is off. */
export type FormResult =
  | { ok: true; message?: string }
  | { ok: false; message: string; errors: Readonly<Record<string, string>> };

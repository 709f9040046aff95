/**
 * What a server action gives back: done (with a word to the person, or none), or a sentence for each field that is off.
 */
export type FormResult =
  | { ok: true; message?: string; /** Where one goes from here. */ next?: { href: string; label: string } }
  | {
      ok: false;
      message: string;
      errors: Readonly<Record<string, string>>;
      /**
       * What was typed can be right but is unlikely: the form offers a tick that says it is, and sends this text back
       * as `sure`.
       */
      ask?: string;
    };

/**
 * The question that stands before something unlikely is written down, or null once it was answered for exactly these
 * sentences.
 */
export function askFirst(data: FormData, doubts: readonly string[]): FormResult | null {
  if (doubts.length === 0) return null;
  const ask = doubts.join(' ');
  return data.get('sure') === ask ? null : { ok: false, message: ask, errors: {}, ask };
}

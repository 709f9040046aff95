/** What was being typed into a form, kept in this tab until it is saved or thrown away. */

export type DraftEntries = readonly (readonly [name: string, value: string])[];

const keyOf = (draftKey: string) => `draft:${draftKey}`;

/** The draft of a form, or null when there is none that can be read. */
export function readDraft(draftKey: string): DraftEntries | null {
  try {
    const kept: unknown = JSON.parse(sessionStorage.getItem(keyOf(draftKey)) ?? 'null');
    const isEntry = (entry: unknown): entry is [string, string] =>
      Array.isArray(entry) && entry.length === 2 && entry.every((part) => typeof part === 'string');
    return Array.isArray(kept) && kept.length > 0 && kept.every(isEntry) ? kept : null;
  } catch {
    return null;
  }
}

export function keepDraft(draftKey: string, form: HTMLFormElement): void {
  const entries = [...new FormData(form).entries()].filter(
    ([name, value]) => typeof value === 'string' && !name.startsWith('$'),
  );
  sessionStorage.setItem(keyOf(draftKey), JSON.stringify(entries));
}

export function endDraft(draftKey: string): void {
  sessionStorage.removeItem(keyOf(draftKey));
}

/** Puts a draft into the inputs of a form. Hidden inputs are the form's own and stay. */
export function fillFrom(draft: DraftEntries, form: HTMLFormElement): void {
  const values = new Map<string, string[]>();
  for (const [name, value] of draft) values.set(name, [...(values.get(name) ?? []), value]);
  for (const input of form.elements) {
    if (input instanceof HTMLInputElement && (input.type === 'checkbox' || input.type === 'radio')) {
      if (input.name !== '' && input.name !== 'sure')
        input.checked = values.get(input.name)?.includes(input.value) ?? false;
      continue;
    }
    const isTyped =
      (input instanceof HTMLInputElement && input.type !== 'hidden') ||
      input instanceof HTMLSelectElement ||
      input instanceof HTMLTextAreaElement;
    const [first] = isTyped ? (values.get(input.name) ?? []) : [];
    if (isTyped && first !== undefined) input.value = first;
  }
}

/** Rows of a draft, `items.0.…`, as nested text by row: for fields whose rows a component holds itself. */
export function draftRows(draft: DraftEntries | null, name: string): ReadonlyMap<string, string>[] {
  const rows = new Map<number, Map<string, string>>();
  for (const [path, value] of draft ?? []) {
    const found = new RegExp(`^${name}\\.(\\d+)\\.(.+)$`).exec(path);
    const [, index, rest] = found ?? [];
    if (index === undefined || rest === undefined) continue;
    const row = rows.get(Number(index)) ?? new Map<string, string>();
    rows.set(Number(index), row.set(rest, value));
  }
  return [...rows].sort(([a], [b]) => a - b).map(([, row]) => row);
}

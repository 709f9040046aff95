/** Forms as a page's HTML holds them, for commands that use the pages like a browser without scripts. */
export interface PageForm {
  /** Names and values as they would be sent when nothing is touched. */
  readonly fields: readonly (readonly [name: string, value: string])[];
}

const unescape = (text: string) =>
  text
    .replaceAll('&quot;', '"')
    .replaceAll('&#x27;', "'")
    .replaceAll('&lt;', '<')
    .replaceAll('&gt;', '>')
    .replaceAll('&amp;', '&');
const attribute = (tag: string, name: string): string | null => {
  const match = new RegExp(`\\s${name}(?:="([^"]*)")?(?=[\\s/>])`, 'i').exec(tag);
  return match ? unescape(match[1] ?? '') : null;
};

/** All forms of a page, with their inputs, selects and text areas at their first values. */
export function readForms(html: string): PageForm[] {
  return [...html.matchAll(/<form\b[^>]*>([\s\S]*?)<\/form>/g)].map(([, inside = '']) => {
    const fields: (readonly [string, string])[] = [];
    for (const [tag] of inside.matchAll(/<input\b[^>]*>/g)) {
      const name = attribute(tag, 'name');
      const type = attribute(tag, 'type') ?? 'text';
      if (
        name === null ||
        type === 'submit' ||
        type === 'file' ||
        ((type === 'checkbox' || type === 'radio') && attribute(tag, 'checked') === null)
      )
        continue;
      fields.push([name, attribute(tag, 'value') ?? '']);
    }
    for (const [, head = '', body = ''] of inside.matchAll(/<select\b([^>]*)>([\s\S]*?)<\/select>/g)) {
      const name = attribute(`<select ${head}>`, 'name');
      const options = [...body.matchAll(/<option\b[^>]*>/g)].map(([tag]) => tag);
      const chosen = options.find((tag) => attribute(tag, 'selected') !== null) ?? options[0];
      if (name !== null && chosen !== undefined) fields.push([name, attribute(chosen, 'value') ?? '']);
    }
    for (const [, head = '', body = ''] of inside.matchAll(/<textarea\b([^>]*)>([\s\S]*?)<\/textarea>/g)) {
      const name = attribute(`<textarea ${head}>`, 'name');
      if (name !== null) fields.push([name, unescape(body).replace(/^\n/, '')]);
    }
    return { fields };
  });
}

/** The form's data with some fields set anew, whether the page had them or not. */
export function fillForm(form: PageForm, values: Readonly<Record<string, string>>): FormData {
  const data = new FormData();
  for (const [name, value] of form.fields) if (!Object.hasOwn(values, name)) data.append(name, value);
  for (const [name, value] of Object.entries(values)) data.append(name, value);
  return data;
}

import type { Page } from 'playwright-core';

const MONTHS = 'Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec';
/**
 * A number, a unit of the other setting. Radiation is in W/m² for both: loggers and services of both countries say so.
 */
const FOREIGN = {
  'us-customary': [
    /\d\s?(°C|kPa|hPa|kg|g|mg|L|mL|ha|m²|m|cm|mm|km|km\/h|m\/s)(?![\w²/]|\s?²)/u,
    /(?<!W)\/(m²|100 m²|ha|L|100 L)(?!\w)/u,
    /\b(kg|mg|g|mL|L)\/\w/u,
    /(?<![\w/])(°C|kPa|km\/h|m²|ha)(?!\w)/u,
    /\b\d{4}-\d\d-\d\d\b/u,
    /(?<![\d:+−-])([01]?\d|2[0-3]):[0-5]\d(?!\d|:|\s?[AP]M)/u,
    new RegExp(`\\b\\d{1,2} (${MONTHS})\\b`, 'u'),
  ],
  metric: [
    /°F|\bmph\b|\bft²?(?!\w)|\bgal\b|\bfl oz\b|\boz\b|\blb\b|\bacres?\b|\bpsi\b|\binHg\b|\byd²?(?!\w)/u,
    /\d\.\d+ in\b|[¼½¾] in\b/u,
    /\b\d{4}-\d\d-\d\d\b/u,
    /\d\s?[AP]M\b/u,
    new RegExp(`\\b(${MONTHS}) \\d{1,2}\\b`, 'u'),
  ],
} as const;

/** What in a line of a page belongs to a reader of the other setting, or is a quantity nobody put into words. */
export function strangeIn(line: string, setting: keyof typeof FOREIGN): string[] {
  return [
    ...FOREIGN[setting].flatMap((pattern) => pattern.exec(line)?.[0] ?? []),
    ...(line.includes('⟦') ? ['⟦'] : []),
  ];
}

/**
 * All that a page says: its words, what pictures and controls are called, what is chosen in a list; not what could be
 * chosen.
 */
export async function wordsOf(page: Page): Promise<string[]> {
  await page.locator('details').evaluateAll((all) => all.forEach((one) => ((one as HTMLDetailsElement).open = true)));
  return page.evaluate(() => {
    const lines: string[] = [];
    for (const element of document.querySelectorAll('[aria-label], [alt], [title], [placeholder]')) {
      for (const name of ['aria-label', 'alt', 'title', 'placeholder']) lines.push(element.getAttribute(name) ?? '');
    }
    // A form that corrects an entry shows it as it was typed.
    document
      .querySelectorAll('[data-as-typed] select, option:not(:checked), optgroup, script, style')
      .forEach((one) => one.remove());
    lines.push(
      ...document.body.innerText.split('\n'),
      ...[...document.querySelectorAll('text')].map((one) => one.textContent ?? ''),
    );
    return lines
      .map((line) => line.replaceAll(/\S+\.(jpe?g|png|heic|zip)/gi, 'file').trim())
      .filter((line) => line !== '');
  });
}

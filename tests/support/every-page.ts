import type { Page } from 'playwright-core';

/** The first address on a page that matches, or none. */
async function firstLink(page: Page, url: string, from: string, pattern: RegExp): Promise<string[]> {
  await page.goto(url + from);
  const found = await page
    .locator('main a')
    .evaluateAll((all) => all.map((link) => (link as HTMLAnchorElement).getAttribute('href') ?? ''));
  const match = found.find((address) => pattern.test(address));
  return match ? [match] : [];
}

/** Every page of the demo diary, one of each kind. */
export async function addressesOfDemo(page: Page, url: string): Promise<string[]> {
  const first = (from: string, pattern: RegExp) => firstLink(page, url, from, pattern);
  const [viewpoint] = await first('/photos', /^\/photos\?viewpoint=[a-z0-9]{8,}$/);
  const [marked] = await first('/find?in=marks', /^\/photos\/[a-z0-9]{8,}$/);
  const mark = marked ? await first(marked, /^\/marks\/[a-z0-9]{8,}$/) : [];
  const trial = await first('/trials', /^\/trials\/[a-z0-9]{20,}$/);
  const plan = await first('/plan', /^\/plan\/[a-z0-9]{20,}$/);
  return [
    '/',
    '/?show=sprays',
    '/plan',
    '/plan/new',
    '/plan/calibrate',
    '/sprays/new',
    '/events/new',
    '/events/new?kind=product',
    '/photos',
    '/capture',
    '/trials',
    '/trials/new',
    '/response',
    '/response/against',
    '/shelf',
    '/shelf/new',
    '/weather',
    '/weather/import',
    '/lawn',
    '/lawn?new',
    '/cards',
    '/find',
    '/find?q=iron',
    '/calendar',
    '/bin',
    '/keep',
    '/people',
    '/methods',
    ...(await first('/?show=sprays', /^\/sprays\/[a-z0-9]{8,}$/)),
    ...(await first('/photos', /^\/photos\/[a-z0-9]{8,}$/)),
    ...(await first(viewpoint ?? '/photos', /^\/compare\?/)),
    ...(marked ? [marked, ...mark, ...mark.map((address) => `${address}/find-out`)] : []),
    ...(await first('/shelf', /^\/shelf\/[a-z0-9]{8,}$/)),
    ...(await first('/weather', /^\/weather\/day\//)),
    ...(await first('/lawn', /^\/plots\/[a-z0-9]{8,}$/)),
    ...plan,
    ...plan.flatMap((address) => [`${address}/edit`, `${address}/card`]),
    ...trial,
    ...trial.flatMap((address) => [
      `${address}/map`,
      `${address}/report`,
      `${address}/analysis`,
      `${address}/rate`,
      `${address}/on-site`,
      `${address}/on-site?what=clippings`,
      `${address}/edit`,
    ]),
    ...(await first('/?show=events', /^\/events\/[a-z0-9]{8,}$/)),
    '/no-such-page',
  ];
}

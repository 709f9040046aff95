import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { closeDiary, diary } from '@/lib/diary/client';
import { createEvent } from '@/lib/diary/lawn-events';
import { listLawns } from '@/lib/diary/lawns';
import { createPlot } from '@/lib/diary/plots';
import { findSpray, listSprays } from '@/lib/diary/sprays';
import { openBrowser, sizes } from '../support/browser';
import { plainLawn } from '../support/diary';
import { startServer, type TestServer } from '../support/server';
import { testSprayer } from '../support/test-sprayer';

let server: TestServer;
let browser: Browser;
const folderBefore = process.env['SWATHBOOK_DATA'];

beforeAll(async () => {
  server = await startServer();
  browser = await openBrowser();
  const page = await browser.newPage(sizes.desktop);
  await page.goto(`${server.url}/lawn`);
  await page.getByLabel('Name', { exact: true }).fill('Back lawn');
  await page.getByLabel('Units on screen').selectOption('metric');
  await page.getByLabel('Time zone').fill('UTC');
  await page.getByRole('button', { name: 'Start this lawn' }).click();
  await page.getByRole('heading', { name: 'Back lawn' }).waitFor();
  for (const [name, place] of [
    ['Front', 'On ground of its own'],
    ['Strip', 'Inside Front'],
  ] as const) {
    const form = page.locator('#plots details', { hasText: 'Add a plot' });
    if ((await form.getAttribute('open')) === null) await form.locator('summary').click();
    await form.getByLabel('Plot name').fill(name);
    await form.getByLabel('Or its area', { exact: true }).fill(name === 'Front' ? '100' : '10');
    await form.getByLabel('Where it lies').selectOption({ label: place });
    await form.getByRole('button', { name: 'Add this plot' }).click();
    await page.locator('#plots summary strong', { hasText: name }).waitFor();
  }
  await page.close();
});
afterAll(async () => {
  await browser?.close();
  await closeDiary();
  if (folderBefore === undefined) delete process.env['SWATHBOOK_DATA'];
  else process.env['SWATHBOOK_DATA'] = folderBefore;
  await server?.stop();
});

const noSideScroll = async (page: Page) =>
  expect(
    await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth),
  ).toBeLessThanOrEqual(0);

describe('a new lawn', () => {
  test('picked as metric asks for metres and litres, and leaves a typed amount in its unit', async () => {
    const page = await browser.newPage(sizes.desktop);
    await page.goto(`${server.url}/lawn?new`);
    const unit = (name: string) => page.locator(`[name="${name}.unit"]`).inputValue();
    await page.locator('[name="length.value"]').fill('40');
    await page.getByLabel('Units on screen').selectOption('metric');
    expect([await unit('length'), await unit('width'), await unit('tank'), await unit('carrier')]).toEqual([
      'ft',
      'm',
      'L',
      'L/100m2',
    ]);
    await page.close();
  });
});

describe('what happens besides sprays', () => {
  test.each(Object.entries(sizes))('is written down in two taps from the diary, on a %s', async (size, options) => {
    const page = await browser.newPage({ ...options });
    await page.goto(server.url);
    await page.getByRole('link', { name: 'Mown', exact: true }).click();
    await page.getByRole('button', { name: 'Write down: mown' }).click();
    await page.waitForURL(`${server.url}/`);
    const entries = page.locator('.day-items > div', { hasText: 'Mown' });
    await expect.poll(() => entries.count()).toBe(size === 'phone' ? 1 : 2);
    await noSideScroll(page);
    await page.goto(`${server.url}/calendar`);
    await page.locator('.day-sign-event').nth(1).waitFor(); // the first stands in the legend
    await page.goto(`${server.url}/find?q=mown`);
    await page.getByRole('heading', { name: 'Other events' }).waitFor();
    await page.close();
  });

  test('a wrong height is refused in its own unit and nothing typed is lost', async () => {
    const page = await browser.newPage(sizes.phone);
    await page.goto(`${server.url}/events/new?kind=mowing`);
    await page.getByLabel('Height of cut', { exact: true }).fill('400');
    await page.getByText('Only on some plots').click();
    await page.getByLabel('Strip').check();
    await page.getByRole('button', { name: 'Write down: mown' }).click();
    await page.getByText('Height of cut: expected 2 to 250 mm, got 400').first().waitFor();
    expect(await page.getByLabel('Strip').isChecked()).toBe(true);
    // Leaving and coming back brings it back, and says so.
    await page.goto(`${server.url}/events/new?kind=mowing`);
    await page.getByText('What you had typed here and not saved is back.').waitFor();
    expect(await page.getByLabel('Height of cut', { exact: true }).inputValue()).toBe('400');
    expect(await page.getByLabel('Strip').isChecked()).toBe(true);
    await page.getByRole('button', { name: 'Start without it' }).click();
    expect(await page.getByLabel('Height of cut', { exact: true }).inputValue()).not.toBe('400');
    await page.close();
  });
});

describe('a draft', () => {
  test('of a product ends with its save: the next one starts empty', async () => {
    const page = await browser.newPage(sizes.desktop);
    await page.goto(`${server.url}/shelf/new`);
    await page.getByLabel('Name', { exact: true }).fill('Iron salt');
    await page.getByLabel('Form', { exact: true }).selectOption('dry');
    await page.getByLabel('Iron Fe').fill('20');
    await page.getByRole('button', { name: 'Put it on the shelf' }).click();
    await page.getByText('What it is for: expected one of').first().waitFor(); // nobody said what it is for
    await page.getByLabel('What it is for').selectOption('iron');
    await page.getByRole('button', { name: 'Put it on the shelf' }).click();
    await page.getByRole('link', { name: 'Iron salt' }).waitFor();
    await page.goto(`${server.url}/shelf/new`);
    await page.getByRole('heading', { name: 'Add a product' }).waitFor();
    expect(await page.getByLabel('Iron Fe').inputValue()).toBe('');
    expect(await page.getByLabel('Name', { exact: true }).inputValue()).toBe('');
    expect(await page.getByText('is back').count()).toBe(0);
    await page.close();
  });

  test('of a spray ends with its save, after an unlikely volume was asked about; its products come back with their rows', async () => {
    const page = await browser.newPage(sizes.desktop);
    await page.goto(`${server.url}/sprays/new`);
    expect(await page.locator('[name="plotIds"]:checked').count()).toBe(0); // which ground is for a person to say
    await page.getByLabel('Strip (').check();
    await page.getByLabel('Product 1').selectOption({ label: 'Iron salt' });
    await page.getByLabel('Rate', { exact: true }).fill('110');
    await page.getByLabel('Rate 1: unit').selectOption('g/100m2');
    await page.getByLabel('Carrier volume', { exact: true }).fill('8');
    await page.getByLabel('Volume sprayed', { exact: true }).fill('80');
    await page.reload();
    await page.getByText('is back').waitFor();
    expect(await page.getByLabel('Rate', { exact: true }).inputValue()).toBe('110');
    expect(await page.getByLabel('Strip (').isChecked()).toBe(true);
    await page.getByRole('button', { name: 'Write it into the diary' }).click();
    await page.getByText(/Volume sprayed: 80 L on 10 m²/).waitFor();
    await page.getByLabel('Yes, it is as I typed it').check();
    await page.getByRole('button', { name: 'Write it into the diary' }).click();
    await page.getByRole('heading', { name: /^Spray of/ }).waitFor();
    await page.goto(`${server.url}/sprays/new`);
    await page.getByRole('heading', { name: 'Log a spray' }).waitFor();
    expect(await page.getByLabel('Volume sprayed', { exact: true }).inputValue()).toBe('');
    expect(await page.getByLabel('Strip (').isChecked()).toBe(true); // the plots of the last spray
    expect(await page.getByText('is back').count()).toBe(0);
    await page.close();
  });
});

describe('a draft of a spray', () => {
  test('comes back on its own lawn only', async () => {
    process.env['SWATHBOOK_DATA'] = server.dataFolder;
    const other = await plainLawn({ name: 'Field', unitSystem: 'metric' });
    await createPlot(other.id, { name: 'Meadow', isCheck: false, polygonM: null, areaM2: 10, note: '' });
    const context = await browser.newContext(sizes.desktop);
    const page = await context.newPage();
    await page.goto(`${server.url}/sprays/new`);
    await page.getByLabel('Note').fill('of the back lawn');
    await context.addCookies([{ name: 'lawn', value: other.id, url: server.url }]);
    await page.goto(`${server.url}/sprays/new`);
    await page.getByLabel('Meadow (').waitFor();
    await page.waitForLoadState('networkidle');
    expect(await page.getByLabel('Note').inputValue()).toBe('');
    await context.clearCookies();
    await page.goto(`${server.url}/sprays/new`);
    await page.getByText('is back').waitFor();
    expect(await page.getByLabel('Note').inputValue()).toBe('of the back lawn');
    await context.close();
    await diary().lawn.delete({ where: { id: other.id } });
    await closeDiary();
  });
});

describe('a spray done with another sprayer than the lawn’s', () => {
  test('is still so when its note is changed', async () => {
    process.env['SWATHBOOK_DATA'] = server.dataFolder;
    const [lawn] = await listLawns();
    await testSprayer(lawn!.id);
    const [spray] = await listSprays(lawn!.id, { limit: 1 });
    await diary().spray.update({ where: { id: spray!.id }, data: { sprayerId: null, actualVolumeL: null } });
    const page = await browser.newPage(sizes.desktop);
    await page.goto(`${server.url}/sprays/${spray!.id}/edit`);
    await page.getByLabel('Note').fill('calm');
    await page.getByRole('button', { name: 'Save the spray' }).click();
    await page.getByRole('heading', { name: /^Spray of/ }).waitFor();
    expect(await findSpray(spray!.id)).toMatchObject({ note: 'calm', sprayerId: null });
    await page.close();
    await closeDiary();
  });
});

describe('an undo', () => {
  test('of what was deleted for good meanwhile leads to the bin', async () => {
    process.env['SWATHBOOK_DATA'] = server.dataFolder;
    const [lawn] = await listLawns();
    const event = await createEvent(lawn!.id, { kind: 'rain', at: new Date() }, []);
    const page = await browser.newPage(sizes.phone);
    await page.goto(`${server.url}/events/${event.id}`);
    await page.getByRole('button', { name: 'Remove' }).click();
    await page.getByText('Entry moved to the bin.').waitFor();
    await diary().lawnEvent.delete({ where: { id: event.id } });
    await page.getByRole('button', { name: 'Undo' }).click();
    await page.waitForURL(`${server.url}/bin`);
    await page.getByRole('heading', { name: 'The bin is empty' }).waitFor();
    expect(await page.getByText('Not in this diary').count()).toBe(0);
    await page.close();
    await closeDiary();
  });

  test('is offered on the one page that follows, and not on a page loaded later', async () => {
    const page = await browser.newPage(sizes.phone);
    await page.goto(`${server.url}/?show=events`);
    await page.locator('.day-items a').first().click();
    await page.getByRole('button', { name: 'Remove' }).click();
    await page.getByText('Entry moved to the bin.').waitFor();
    await page.goto(`${server.url}/find`);
    await page.goto(`${server.url}/`);
    expect(await page.getByText('moved to the bin').count()).toBe(0);
    await page.goto(`${server.url}/bin`);
    await page.getByRole('button', { name: /^Put back entry/ }).click();
    await page.getByRole('heading', { name: 'The bin is empty' }).waitFor();
    await page.close();
  });
});

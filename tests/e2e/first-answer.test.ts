import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import type { Browser, Locator, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { demoScenario } from '@/lib/demo/scenario';
import { drawLawnPhoto } from '@/lib/demo/lawn-renderer';
import { encodeJpeg } from '@/lib/demo/encode';
import { openBrowser, sizes } from '../support/browser';
import { startServer, type TestServer } from '../support/server';

let server: TestServer;
let browser: Browser;
const scratch = fs.mkdtempSync(path.join(os.tmpdir(), 'swathbook-photos-'));
const scenario = demoScenario();
const photoOf = (day: string) =>
  scenario.photos.find((photo) => photo.takenAtLocal.startsWith(day)) as (typeof scenario.photos)[number];
const before = photoOf('2026-04-13');
const after = photoOf('2026-04-21');

beforeAll(async () => {
  server = await startServer();
  browser = await openBrowser();
  for (const photo of [before, after]) {
    fs.writeFileSync(
      path.join(scratch, photo.fileName),
      await encodeJpeg(drawLawnPhoto(photo, scenario.strips), photo),
    );
  }
});
afterAll(async () => {
  await browser?.close();
  await server?.stop();
  fs.rmSync(scratch, { recursive: true, force: true });
});

/** Counts what a person's hands do: taps (a pick from a list is one) and fields typed into. */
class Hands {
  taps = 0;
  typed = 0;
  constructor(readonly page: Page) {}
  async tap(target: Locator): Promise<void> {
    this.taps += 1;
    await target.click();
  }
  async pick(list: Locator, choice: string | { label: string }): Promise<void> {
    this.taps += 1;
    await list.selectOption(choice);
  }
  async type(field: Locator, text: string): Promise<void> {
    this.typed += 1;
    await field.fill(text);
  }
  async tapPhoto(at: readonly [number, number]): Promise<void> {
    this.taps += 1;
    await tap(this.page, at);
  }
}

/** Outlines both plots of a photo, each as it is asked for, and saves. */
async function outlineByTaps(hands: Hands, photo: typeof before): Promise<void> {
  const { page } = hands;
  await expect.poll(() => page.getByText('Being read').count(), { timeout: 60_000 }).toBe(0);
  for (let plot = 0; plot < 2; plot++) {
    const asked = page.getByText('Tap the far left corner of');
    await asked.waitFor();
    for (const corner of photo.plotCorners[(await asked.innerText()).includes('Check') ? 'A' : 'C'])
      await hands.tapPhoto(corner);
  }
  await hands.tap(page.getByRole('button', { name: 'Save the outlines and measure' }));
}

/** Taps a point of the photo given in the photo's own pixels. */
async function tap(page: Page, [x, y]: readonly [number, number]): Promise<void> {
  const box = await page.locator('.stage svg').boundingBox();
  if (!box) throw new Error('no stage on the page');
  await page.mouse.click(box.x + ((x + 0.5) / 1600) * box.width, box.y + ((y + 0.5) / 1200) * box.height);
}

async function addPlot(page: Page, name: string, offset: number, check: boolean): Promise<void> {
  const form = page.locator('#plots details', { hasText: 'Add a plot' });
  if ((await form.getAttribute('open')) === null) await form.locator('summary').click();
  await form.getByLabel('Plot name').fill(name);
  await form.getByLabel('Length', { exact: true }).fill('7');
  await form.getByLabel('Width', { exact: true }).fill('1.5');
  await form.getByLabel('Distance from the left stake', { exact: true }).fill(String(offset));
  if (check) await form.getByLabel('This is the check').check();
  await form.getByRole('button', { name: 'Add this plot' }).click();
  await page.locator('#plots summary strong', { hasText: name }).waitFor();
}

describe('from an empty diary to an answer', () => {
  test('a person sets up a lawn, logs a spray, drops two photos, outlines two plots and sees what changed', async () => {
    const page = await browser.newPage(sizes.desktop);
    const errors: string[] = [];
    page.on('pageerror', (error) => errors.push(error.message));
    await page.goto(server.url);
    await page.getByRole('link', { name: 'Set up your lawn' }).click();
    await page.getByLabel('Name', { exact: true }).fill('Test lawn');
    await page.getByLabel('Units on screen').selectOption('metric');
    await page.getByLabel('Time zone').fill('Europe/Rome');
    await page.getByRole('button', { name: 'Start this lawn' }).click();
    await page.getByRole('heading', { name: 'Test lawn' }).waitFor();

    await addPlot(page, 'A', 0, true);
    await addPlot(page, 'C', 3.6, false);

    await page.goto(`${server.url}/shelf/new`);
    await page.getByLabel('Name', { exact: true }).fill('Iron salt');
    await page.getByLabel('Form', { exact: true }).selectOption('dry');
    await page.getByLabel('What it is for').selectOption('iron');
    await page.getByLabel('Iron Fe').fill('20');
    await page.getByRole('button', { name: 'Put it on the shelf' }).click();
    await page.getByRole('link', { name: 'Iron salt' }).waitFor();

    await page.goto(`${server.url}/sprays/new`);
    await page.getByLabel('Start').fill('2026-04-14T08:35');
    await page.getByLabel('Product 1').selectOption({ label: 'Iron salt' });
    await page.getByRole('button', { name: 'Write it into the diary' }).click();
    await page.getByText('expected a number above 0').first().waitFor();
    expect(await page.getByLabel('Start').inputValue()).toBe('2026-04-14T08:35'); // nothing typed is lost by a refusal
    await page.getByLabel('Rate', { exact: true }).fill('110');
    await page.getByLabel('Rate 1: unit').selectOption('g/100m2');
    await page.getByRole('button', { name: 'Write it into the diary' }).click();
    await page.getByRole('heading', { name: /Spray of/ }).waitFor();
    // 110 g on 100 m² is 11.55 g on 10.5 m².
    await page.getByText(/^11\.[56]5? g$/).waitFor();

    await page.goto(`${server.url}/photos`);
    await page.getByLabel('Viewpoint').fill('From the step');
    await page
      .getByLabel('Photos', { exact: true })
      .setInputFiles([path.join(scratch, before.fileName), path.join(scratch, after.fileName)]);
    await page
      .getByText(/Kept\./)
      .first()
      .waitFor();
    await expect.poll(() => page.getByText(/Kept\./).count(), { timeout: 30_000 }).toBe(2);

    await expect.poll(() => page.locator('.photo-grid a').count()).toBe(2);
    const links = await page
      .locator('.photo-grid a')
      .evaluateAll((all) => all.map((a) => (a as HTMLAnchorElement).href));
    expect(links).toHaveLength(2);
    for (const [link, photo] of [
      [links[1], before],
      [links[0], after],
    ] as const) {
      await page.goto(link as string);
      for (const [plot, strip] of [
        [/^A \(check\)/, 'A'],
        [/^C( ✓)?$/, 'C'],
      ] as const) {
        await page.getByRole('radio', { name: plot }).click();
        if (await page.getByText('Drag the corners of').isVisible())
          await page.getByRole('button', { name: 'Remove this outline' }).click();
        for (const corner of photo.plotCorners[strip]) await tap(page, corner);
      }
      await page.getByRole('button', { name: 'Save the outlines and measure' }).click();
      await page.getByText('Measured 2 plots.').waitFor();
    }
    const difference = Number.parseFloat((await page.locator('.reading-value').first().innerText()).replace('−', '-'));
    expect(difference).toBeGreaterThan(0.02); // a week after the fuller rate, the scenario says C is darker than the check

    await page.goto(`${server.url}/response`);
    await page.locator('canvas').first().waitFor();
    await page.getByText('As a table').click();
    const change = await page.locator('details table tbody tr').last().innerText();
    expect(change).toMatch(/C\s+\+0\.0\d\d\s+[+−]0\.\d{3} to \+0\.\d{3}/);

    await page.goto(`${server.url}/photos`);
    await page.getByRole('link', { name: 'From the step' }).click();
    await page.getByRole('link', { name: 'Before and after' }).click();
    await page.getByText('laid onto the later').waitFor();
    expect(errors).toEqual([]);
    await page.close();
  });

  test('by hand, from the welcome page to the first change against the check, takes at most 35 taps and 15 typed fields', async () => {
    const own = await startServer();
    const context = await browser.newContext({ ...sizes.desktop, locale: 'en-GB', timezoneId: 'Europe/Rome' });
    const page = await context.newPage();
    const hands = new Hands(page);
    const nav = (name: string) => page.getByRole('navigation').getByRole('link', { name, exact: true });
    await page.goto(own.url);
    await hands.tap(page.getByRole('link', { name: 'Set up your lawn' }));
    expect(await page.getByLabel('Units on screen').inputValue()).toBe('metric'); // as the browser's language says
    await expect.poll(() => page.getByLabel('Time zone').inputValue()).toBe('Europe/Rome');
    await hands.type(page.getByLabel('Where it lies'), '45.07, 7.69');
    await hands.type(page.getByLabel('Length of a plot', { exact: true }), '7');
    await hands.type(page.getByLabel('Width of a plot', { exact: true }), '1.5');
    await hands.type(page.getByLabel('Tank', { exact: true }), '8');
    await hands.type(page.getByLabel('Carrier volume', { exact: true }), '8');
    await hands.tap(page.getByRole('button', { name: 'Start this lawn' }));
    await page.getByRole('heading', { name: 'My lawn' }).waitFor();

    await hands.tap(nav('Shelf'));
    await hands.tap(page.getByRole('link', { name: 'Add the first one' }));
    await hands.type(page.getByLabel('Name', { exact: true }), 'Iron salt');
    await hands.pick(page.getByLabel('Form', { exact: true }), 'dry');
    await hands.pick(page.getByLabel('What it is for'), 'iron');
    await hands.type(page.getByLabel('Iron Fe'), '20');
    await hands.type(page.getByLabel('Usual rate', { exact: true }), '1.1');
    expect(await page.getByLabel('Usual rate: unit').inputValue()).toBe('g/m2');
    await hands.tap(page.getByRole('button', { name: 'Put it on the shelf' }));
    await page.getByRole('link', { name: 'Iron salt' }).waitFor();

    await hands.tap(nav('Diary'));
    await hands.tap(page.getByRole('link', { name: 'Log a spray' }));
    await hands.type(page.getByLabel('Start'), '2026-04-14T08:35');
    await hands.pick(page.getByLabel('Product 1'), { label: 'Iron salt' });
    await hands.tap(page.getByRole('button', { name: 'Write it into the diary' }));
    await page.getByRole('heading', { name: /Spray of/ }).waitFor();

    await hands.tap(nav('Photos'));
    hands.taps += 1; // the files are picked in the system's own window
    await page
      .getByLabel('Photos', { exact: true })
      .setInputFiles([path.join(scratch, before.fileName), path.join(scratch, after.fileName)]);
    await expect.poll(() => page.getByText(/Kept\./).count(), { timeout: 60_000 }).toBe(2);
    await hands.tap(page.getByRole('link', { name: 'Outline the plots in the first' }));
    await page.locator('.stage svg').waitFor();
    await outlineByTaps(hands, before);
    const first = page.url();
    await hands.tap(page.getByRole('link', { name: /Outline the next photo|See it before and after/ }));
    await page.waitForURL((url) => url.href !== first);
    if (page.url().includes('/compare')) await hands.tap(page.getByRole('link', { name: /photo/i }).first());
    // The next photo is lined up with the first by itself; where that isn't sure, it asks for its corners too.
    const change = page.locator('.reading-value', { hasText: /^[+−]0\.\d{3}/ }).first();
    const asks = page.getByText('Tap the far left corner of');
    await expect
      .poll(
        async () =>
          (await change.count()) > 0 ||
          ((await asks.count()) > 0 && (await page.getByText(/Being read|being worked out/).count()) === 0),
        { timeout: 120_000 },
      )
      .toBe(true);
    if ((await change.count()) === 0) await outlineByTaps(hands, after);
    await change.waitFor({ timeout: 120_000 });
    // A week after the fuller rate, the scenario says, the strip is darker than the check.
    expect(Number.parseFloat((await change.innerText()).replace('−', '-'))).toBeGreaterThan(0.02);
    console.log(`first answer: ${hands.taps} taps, ${hands.typed} typed fields`);
    expect(hands.taps).toBeLessThanOrEqual(35);
    expect(hands.typed).toBeLessThanOrEqual(15);
    await context.close();
    await own.stop();
  });

  test('a file that is no photo gets one sentence and leaves nothing behind', async () => {
    const page = await browser.newPage(sizes.phone);
    await page.goto(`${server.url}/photos`);
    const photos = path.join(server.dataFolder, 'photos');
    const count = () =>
      fs.existsSync(photos)
        ? fs.readdirSync(photos, { recursive: true, withFileTypes: true }).filter((entry) => entry.isFile()).length
        : 0;
    const filesBefore = count();
    const wrong = path.join(scratch, 'words.jpg');
    fs.writeFileSync(wrong, 'this is no photo at all');
    const cut = path.join(scratch, 'cut.jpg');
    fs.writeFileSync(cut, fs.readFileSync(path.join(scratch, before.fileName)).subarray(0, 60_000));
    await page.getByLabel('Photos', { exact: true }).setInputFiles([wrong, cut]);
    await expect.poll(() => page.getByRole('button', { name: 'Try again' }).count(), { timeout: 20_000 }).toBe(2);
    const sentences = await page.locator('.wrong').allInnerTexts();
    for (const sentence of sentences) expect(sentence).toMatch(/^Expected .+, got .+\.$/);
    expect(count()).toBe(filesBefore);
    await page.close();
  });
});

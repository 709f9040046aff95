import { afterAll, beforeAll, expect, test } from 'vitest';
import { openCases, type FuzzCases, type Outcome } from '@/lib/commands/proving/fuzz-cases';

// A sample of `npm run fuzz`, with a seed of its own.
let cases: FuzzCases;
beforeAll(async () => {
  cases = await openCases(20_260_501);
}, 60_000);
afterAll(() => cases.end());

async function wrongOnes(kind: 'image' | 'text', count: number): Promise<{ wrong: string[]; refused: number }> {
  const wrong: string[] = [];
  let refused = 0;
  for (let at = 0; at < count; at++) {
    const outcome: Outcome = await cases[kind](at);
    if (outcome.was === 'wrong') wrong.push(`${kind} ${at}: ${outcome.why}`);
    if (outcome.was === 'refused') refused += 1;
  }
  return { wrong, refused };
}

test('damaged photos of every kind are taken or refused in a sentence, and leave nothing behind', async () => {
  const { wrong, refused } = await wrongOnes('image', 84);
  expect(wrong).toEqual([]);
  expect(refused).toBeGreaterThan(20);
});

test('damaged archives, CSVs, forms and addresses are taken or refused in a sentence', async () => {
  const { wrong, refused } = await wrongOnes('text', 160);
  expect(wrong).toEqual([]);
  expect(refused).toBeGreaterThan(40);
});

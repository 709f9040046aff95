import { expect, test } from 'vitest';
import { serverTrouble } from '@/lib/diary/database-server';

test.each([
  ['a connection that broke under a question', new Error('Connection terminated unexpectedly'), /closed connection/],
  [
    'one that breaks a level deeper',
    Object.assign(new Error('asked in vain'), { cause: Object.assign(new Error('read'), { code: 'ECONNRESET' }) }),
    /closed connection/,
  ],
  [
    'a server that refuses the socket',
    Object.assign(new Error('connect'), { code: 'ECONNREFUSED' }),
    /got no connection/,
  ],
  [
    'a transaction that got no connection in time',
    Object.assign(new Error('Unable to start a transaction in the given time.'), { code: 'P2028' }),
    /got silence/,
  ],
])('%s is the server’s trouble, not a photo’s or a form’s', (_, error, sentence) => {
  expect(serverTrouble(error)).toMatch(sentence);
});

test.each([
  ['a row that is there already', Object.assign(new Error('Unique constraint failed'), { code: 'P2002' })],
  ['a row that is gone', Object.assign(new Error('not found'), { code: 'P2025' })],
  ['a fault of our own', new TypeError('x is undefined')],
  ['nothing', null],
])('%s is not', (_, error) => {
  expect(serverTrouble(error)).toBeNull();
});

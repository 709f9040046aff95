import { z } from 'zod';
import { RIGHTS } from '@/lib/visit';
import { choiceField, idField, textField, tickField } from './fields';

const name = textField('Name', 60).refine(
  (text) => /^[^\p{Cc}\p{Cf}]+$/u.test(text),
  'Name: expected letters one can see, got others',
);
export const MIN_PASSPHRASE = 10;
const passphrase = (label: string) =>
  z
    .string({ error: `${label}: expected at least ${MIN_PASSPHRASE} characters, got nothing` })
    .min(MIN_PASSPHRASE, `${label}: expected at least ${MIN_PASSPHRASE} characters, got fewer`)
    .max(500, `${label}: expected at most 500 characters, got more`);

/** Somebody new. */
export const NewPersonForm = z.object({ name, passphrase: passphrase('First passphrase'), keepsDiary: tickField });

const right = choiceField('Right', ['none', ...RIGHTS]);

/** What a person may do: with the whole diary, and on each lawn. */
export const RightsForm = z.object({ keepsDiary: tickField, right: z.record(idField, right).optional().default({}) });

/** A new passphrase that whoever keeps the diary gives to somebody. */
export const ResetForm = z.object({ passphrase: passphrase('New passphrase') });

/** A new passphrase of one's own. */
export const OwnPassphraseForm = z.object({
  now: z.string({ error: 'Passphrase now: expected yours, got nothing' }).max(500),
  passphrase: passphrase('New passphrase'),
});

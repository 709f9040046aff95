import { z } from 'zod';
import { MARK_KINDS } from '@/lib/photo/marks/kind';
import { choiceField, idField } from './fields';

/** What a person says of a mark. */
export const MarkForm = z.object({
  id: idField,
  state: choiceField('Judgement', ['open', 'confirmed', 'dismissed']),
  kind: choiceField('What it is', MARK_KINDS).optional(),
});

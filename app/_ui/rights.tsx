import 'server-only';
import { notFound } from 'next/navigation';
import { RIGHTS, type Right } from '@/lib/visit';
import { bestRight, mayDo, rightHere, type Asked } from '@/lib/work/people/rights';

/** The way into a page: who may not have it is told that there is none. */
export async function askPage(right: Right, asked: Asked): Promise<void> {
  if (!(await mayDo(right, asked))) notFound();
}

/**
 * Says on a page what right whoever looks at it has on its lawn, so that styles leave out what they can't do
 * (globals.css); nothing for who keeps it. What is left out is refused as well: this only spares them the attempt.
 * @param lawnId none: what all lawns share
 * @param forms the right its forms ask for
 * @param quiet there is nothing to type here
 */
export function Rights({
  lawnId,
  forms = 'works',
  quiet = false,
}: {
  lawnId?: string;
  forms?: Right;
  quiet?: boolean;
}) {
  const right = (lawnId === undefined ? bestRight() : rightHere(lawnId)) ?? 'looks';
  if (right === 'keeps') return null;
  const may = RIGHTS.indexOf(right) >= RIGHTS.indexOf(forms);
  return (
    <p className="soft" hidden={may || quiet} data-right={right} data-forms={may ? 'yes' : 'no'}>
      You {right === 'looks' ? 'look at' : 'work on'} this lawn: what can be changed here is changed by others, and
      nothing you type is kept.
    </p>
  );
}

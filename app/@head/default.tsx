import { cookies } from 'next/headers';
import Link from 'next/link';
import { currentLawn } from '@/app/_ui/current-lawn';
import { Nav } from '@/app/_ui/nav';
import { undoCookie } from '@/app/bin/note-undo';
import { UndoLine } from '@/app/bin/undo-line';
import { isBinned } from '@/lib/diary/bin';
import { readUndo } from '@/lib/forms/bin-form';
import { nameNow } from '@/lib/work/people/rights';

/** The head of every page of one's own diary, and the way back from what was just moved to the bin. */
export default async function Head() {
  const lawn = await currentLawn();
  const name = nameNow();
  const noted = readUndo((await cookies()).get(undoCookie)?.value);
  const undo = noted && (await isBinned(noted.kind, noted.id)) ? noted : null;
  return (
    <>
      <header className="frame-head">
        <div className="frame-head-row">
          <Link className="frame-name" href="/">
            Swathbook
          </Link>
          {(lawn || name) && <span className="frame-lawn">{[lawn?.name, name].filter(Boolean).join(' · ')}</span>}
        </div>
        <Nav />
      </header>
      {undo && <UndoLine key={`${undo.kind}-${undo.id}`} {...undo} />}
    </>
  );
}

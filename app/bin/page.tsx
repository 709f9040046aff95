import type { Metadata } from 'next';
import Link from 'next/link';
import { currentLawn } from '@/app/_ui/current-lawn';
import { momentText } from '@/lib/units/dates';
import { listBinned } from '@/lib/diary/bin';
import { putBack } from './actions';
import { DeleteForGood } from './delete-for-good';
import { binKindWords } from './kind-words';
import { Rights } from '@/app/_ui/rights';

export const metadata: Metadata = { title: 'Bin' };

export default async function BinPage() {
  const lawn = await currentLawn();
  const binned = lawn ? await listBinned(lawn.id) : [];
  return (
    <>
      {lawn && <Rights lawnId={lawn.id} quiet />}
      <h1>Bin</h1>
      <p className="soft">
        What you remove lies here until you put it back. Only photos can be deleted for good, since they take room on
        the disk.
      </p>
      {binned.length === 0 || !lawn ? (
        <div className="teach">
          <h2>The bin is empty</h2>
          <p>
            Sprays, photos, products, trials, plots and short entries come here when you remove them.{' '}
            <Link href="/">Back to the diary</Link>
          </p>
        </div>
      ) : (
        <ul className="plain-list">
          {binned.map((entry) => (
            <li key={`${entry.kind}-${entry.id}`} className="sheet row row-end">
              <span>
                <span className="chip">{binKindWords[entry.kind]}</span> {entry.at && `${momentText(entry.at, lawn)} `}
                <strong>{entry.label}</strong> <span className="soft">removed {momentText(entry.deletedAt, lawn)}</span>
              </span>
              <span className="row">
                <form action={putBack}>
                  <input type="hidden" name="kind" value={entry.kind} />
                  <input type="hidden" name="id" value={entry.id} />
                  <button
                    type="submit"
                    className="button-plain"
                    aria-label={`Put back ${binKindWords[entry.kind].toLowerCase()} ${entry.label}`}
                  >
                    Put back
                  </button>
                </form>
                {entry.kind === 'photo' && <DeleteForGood id={entry.id} label={entry.label} />}
              </span>
            </li>
          ))}
        </ul>
      )}
    </>
  );
}

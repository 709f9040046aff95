import type { Metadata } from 'next';
import { headers } from 'next/headers';
import { archiveJob } from '@/lib/work/keep/archive-job';
import { allArchives } from '@/lib/work/keep/kept-archives';
import { momentText } from '@/lib/units/dates';
import { currentLawn } from '@/app/_ui/current-lawn';
import { removeArchive } from './actions';
import { MakeArchive } from './make-archive';
import { hasPeople } from '@/lib/diary/people';
import { mayDo, nameNow } from '@/lib/work/people/rights';
import { ActionForm } from '@/app/_ui/action-form';
import { Field } from '@/app/_ui/field';
import { savePassphrase } from '../people/actions';
import Link from 'next/link';

export const metadata: Metadata = { title: 'Keep' };

const size = (bytes: number) =>
  bytes < 1e6
    ? `${Math.ceil(bytes / 1e3)} kB`
    : bytes < 1e9
      ? `${(bytes / 1e6).toFixed(1)} MB`
      : `${(bytes / 1e9).toFixed(2)} GB`;

export default async function KeepPage() {
  const keeps = await mayDo('keeps', 'diary');
  const [lawn, kept, asked, people] = await Promise.all([
    currentLawn(),
    keeps ? allArchives() : { archives: [], trouble: null },
    headers(),
    keeps ? hasPeople() : true,
  ]);
  const { archives, trouble } = kept;
  const name = nameNow();
  const locked = asked.get('x-swathbook-door') === 'locked';
  return (
    <>
      <h1>Keep</h1>
      {keeps && (
        <section className="sheet">
          <h2>Archives</h2>
          <p>
            An archive is one file with everything in it: the diary and every photo, untouched, with a hash of each.
            Make one before you try something new, and keep a copy on another disk.
          </p>
          <MakeArchive start={await archiveJob()} />
          {trouble && <p className="notice notice-bad">{trouble}</p>}
          {archives.length > 0 && (
            <ul style={{ listStyle: 'none', padding: 0, margin: '0 0 1rem' }} aria-label="Kept archives">
              {archives.map((archive) => (
                <li
                  key={archive.name}
                  className="row row-end"
                  style={{ borderTop: '1px solid var(--line)', padding: '0.6rem 0' }}
                >
                  <span style={{ minWidth: 0, overflowWrap: 'anywhere' }}>
                    <a href={`/api/archives/${archive.name}`} download>
                      {archive.name}
                    </a>
                    <span className="soft" style={{ display: 'block' }}>
                      {momentText(archive.madeAt, lawn ?? { unitSystem: 'metric', timeZone: 'UTC' })} ·{' '}
                      {size(archive.bytes)}
                    </span>
                  </span>
                  <form action={removeArchive}>
                    <input type="hidden" name="name" value={archive.name} />
                    <button type="submit" className="button-warn" aria-label={`Remove ${archive.name}`}>
                      Remove
                    </button>
                  </form>
                </li>
              ))}
            </ul>
          )}
          <details>
            <summary>Putting an archive back</summary>
            <p>
              Stop the server, then run <code>npm run restore -- FILE</code> in the program’s folder. The archive is
              checked whole before anything is touched, and the data that was there is moved to a folder of its own, not
              deleted. An archive of an older version is brought up to date.
            </p>
            <p>
              <code>npm run archive -- --keep 7</code> makes one from the command line and keeps the newest seven: put
              it into a nightly timer.
            </p>
          </details>
        </section>
      )}
      {keeps && (
        <section className="sheet">
          <h2>People</h2>
          <p>
            {people
              ? 'Everybody comes in by name here, and sees the lawns that are theirs to see.'
              : 'Several people can keep one diary: each with a name, a passphrase and a right on each lawn. Until you set that up, whoever can open it may do everything.'}
          </p>
          <Link className="button" href="/people">
            {people ? 'Who may do what' : 'Set up people'}
          </Link>
        </section>
      )}
      {locked && (
        <section className="sheet">
          <h2>Signed in</h2>
          <p>
            {name === null ? 'This diary is open to other machines, behind its passphrase.' : `You are ${name} here.`}
          </p>
          <div className="row">
            <form action="/sign-out" method="post">
              <button type="submit" className="button-plain">
                Sign out here
              </button>
            </form>
            <form action="/sign-out-everywhere" method="post">
              <button type="submit" className="button-warn">
                Sign out everywhere
              </button>
            </form>
          </div>
          {name !== null && (
            <details>
              <summary>Your passphrase</summary>
              <ActionForm action={savePassphrase} submit="Change it">
                <div className="fields">
                  <Field name="now" label="Passphrase now" type="password" required />
                  <Field
                    name="passphrase"
                    label="New passphrase"
                    type="password"
                    hint="It ends every session of yours: you sign in with it anew."
                    required
                  />
                </div>
              </ActionForm>
            </details>
          )}
        </section>
      )}
    </>
  );
}

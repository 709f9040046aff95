import type { Metadata } from 'next';
import Link from 'next/link';
import { currentLawn } from '@/app/_ui/current-lawn';
import { ActionForm } from '@/app/_ui/action-form';
import { Choose, Field, Tick } from '@/app/_ui/field';
import { askPage } from '@/app/_ui/rights';
import { listLawns, type Lawn } from '@/lib/diary/lawns';
import { listPeople, type Person } from '@/lib/diary/people';
import { MIN_PASSPHRASE } from '@/lib/forms/person-form';
import { dayText } from '@/lib/units/dates';
import { addPerson, givePassphrase, putPersonAway, saveRights, takePersonBack } from './actions';

export const metadata: Metadata = { title: 'People' };

const rightChoices = [
  { value: 'none', label: 'Nothing: does not see it' },
  { value: 'looks', label: 'Looks: reads, changes nothing' },
  { value: 'works', label: 'Works on it: photos, sprays, ratings, notes, verdicts' },
  { value: 'keeps', label: 'Keeps it: everything' },
];
const rightWords = { looks: 'looks at', works: 'works on', keeps: 'keeps' } as const;

function summary(person: Person, lawns: readonly Lawn[]): string {
  if (person.keepsDiary) return 'keeps the whole diary';
  const parts = lawns.flatMap((lawn) => {
    const right = person.rights.get(lawn.id);
    return right ? [`${rightWords[right]} ${lawn.name}`] : [];
  });
  return parts.length > 0 ? parts.join(', ') : 'sees no lawn yet';
}

export default async function PeoplePage() {
  await askPage('keeps', 'diary');
  const [people, lawns, lawn] = await Promise.all([listPeople(), listLawns(), currentLawn()]);
  const here = people.filter((person) => person.awaySince === null);
  const away = people.filter((person) => person.awaySince !== null);
  return (
    <>
      <div className="row row-end">
        <h1>People</h1>
        <Link className="button" href="/keep">
          Back to Keep
        </Link>
      </div>
      {here.length === 0 ? (
        <p>
          Nobody has a name in this diary yet: whoever can open it may do everything. With names, everybody comes in by
          their own passphrase, sees the lawns that are theirs to see, and what they add says who did it.{' '}
          <strong>Begin with yourself:</strong> the first person keeps the whole diary, and from then on the diary asks
          everybody for a name, on this machine too.
        </p>
      ) : (
        <p className="soft">
          Each right holds what the ones before it hold. What somebody added keeps their name, also after they are put
          away.
        </p>
      )}
      {here.map((person) => (
        <section key={person.id} className="sheet" aria-labelledby={`person-${person.id}`}>
          <h2 id={`person-${person.id}`}>{person.name}</h2>
          <p>
            {person.name} {summary(person, lawns)}.
            {!person.hasPassphrase && (
              <span className="wrong">
                {' '}
                No passphrase yet: give one below, or let the proxy in front say who it is.
              </span>
            )}
          </p>
          <details>
            <summary>What {person.name} may do</summary>
            <ActionForm
              key={`${person.keepsDiary}${[...person.rights].join()}`}
              action={saveRights.bind(null, person.id)}
              submit="Save the rights"
            >
              <Tick
                name="keepsDiary"
                label="Keeps the whole diary: every lawn, new ones too, the shelf, archives and people"
                defaultChecked={person.keepsDiary}
              />
              <div className="fields">
                {lawns.map((one) => (
                  <Choose
                    key={one.id}
                    name={`right.${one.id}`}
                    label={one.name}
                    choices={rightChoices}
                    defaultValue={person.rights.get(one.id) ?? 'none'}
                  />
                ))}
              </div>
            </ActionForm>
          </details>
          <details>
            <summary>A new passphrase for {person.name}</summary>
            <ActionForm action={givePassphrase.bind(null, person.id)} submit="Give this passphrase">
              <Field
                name="passphrase"
                label="New passphrase"
                type="password"
                hint={`At least ${MIN_PASSPHRASE} characters. It ends every session of ${person.name}.`}
                required
              />
            </ActionForm>
          </details>
          <details>
            <summary>Put {person.name} away</summary>
            <p className="soft">The name stays on what was done under it, and can be taken back.</p>
            <ActionForm
              action={putPersonAway.bind(null, person.id)}
              submit={`Put ${person.name} away`}
              busy="Putting away …"
            >
              {null}
            </ActionForm>
          </details>
        </section>
      ))}
      <section className="sheet">
        <h2>{here.length === 0 ? 'Yourself' : 'Somebody new'}</h2>
        <ActionForm
          key={people.length}
          action={addPerson}
          submit={here.length === 0 ? 'Set up people, begin with me' : 'Add'}
        >
          <div className="fields">
            <Field name="name" label="Name" required />
            <Field
              name="passphrase"
              label="First passphrase"
              type="password"
              hint={`At least ${MIN_PASSPHRASE} characters.`}
              required
            />
          </div>
          {here.length > 0 && <Tick name="keepsDiary" label="Keeps the whole diary" />}
        </ActionForm>
      </section>
      {away.length > 0 && (
        <section className="sheet">
          <h2>Put away</h2>
          {away.map((person) => (
            <div key={person.id} className="row row-end">
              <span>
                {person.name}{' '}
                <span className="soft">
                  since{' '}
                  {person.awaySince && dayText(person.awaySince, lawn ?? { unitSystem: 'metric', timeZone: 'UTC' })}
                </span>
              </span>
              <ActionForm action={takePersonBack.bind(null, person.id)} submit={`Take ${person.name} back`}>
                {null}
              </ActionForm>
            </div>
          ))}
        </section>
      )}
    </>
  );
}

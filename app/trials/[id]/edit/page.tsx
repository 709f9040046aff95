import type { Metadata } from 'next';
import Link from 'next/link';
import { notFound } from 'next/navigation';
import { ActionForm } from '@/app/_ui/action-form';
import { Field, TextArea } from '@/app/_ui/field';
import { findTrial } from '@/lib/diary/trials';
import { saveTrialFacts } from '../../actions';
import { askPage } from '@/app/_ui/rights';

export const metadata: Metadata = { title: 'Change a trial' };

export default async function EditTrialPage({ params }: { params: Promise<{ id: string }> }) {
  await askPage('keeps', { trial: (await params).id });
  const trial = await findTrial((await params).id);
  if (!trial) notFound();
  return (
    <>
      <h1>Change a trial</h1>
      <div className="sheet">
        <p className="soft">
          Its plots and what they get stay as they were drawn: changing them would make another trial.
        </p>
        <ActionForm
          action={saveTrialFacts.bind(null, trial.id)}
          submit="Save the trial"
          draftKey={`trial-${trial.id}`}
          secondary={
            <Link className="button" href={`/trials/${trial.id}`}>
              Leave it
            </Link>
          }
        >
          <div className="fields">
            <Field name="name" label="Name" defaultValue={trial.name} required />
            <Field
              name="startsOn"
              label="First spray planned for"
              type="date"
              defaultValue={trial.startsOn}
              hint="Once it is sprayed, days count from the spray."
            />
            <Field name="photoDays" label="Photo days after the spray" defaultValue={trial.photoDays.join(', ')} />
          </div>
          <TextArea name="question" label="Question" defaultValue={trial.question} />
          <TextArea name="note" label="Note" defaultValue={trial.note} />
        </ActionForm>
      </div>
    </>
  );
}

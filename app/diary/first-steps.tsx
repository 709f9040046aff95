import Link from 'next/link';
import { stepsTaken } from '@/lib/diary/first-steps';
import type { Lawn } from '@/lib/diary/lawns';

/** What a first answer needs, with what is done; nothing once all of it is. */
export async function FirstSteps({ lawn, empty }: { lawn: Lawn; empty: boolean }) {
  const taken = await stepsTaken(lawn.id);
  // prettier-ignore
  const steps = [
    { done: lawn.latitudeDeg !== null && lawn.longitudeDeg !== null, href: '/lawn', name: 'Say where the lawn lies', why: 'its sun and weather come from there' },
    { done: taken.checkPlot && taken.sprayedPlot, href: '/lawn#plots', name: 'Mark out plots', why: 'the ones you spray and one check that stays unsprayed' },
    { done: taken.product, href: '/shelf', name: 'Put a product on the shelf', why: 'as its label prints it, or a generic material' },
    { done: taken.outlinedPhoto, href: '/photos', name: 'Photograph all plots from one place, before you spray', why: 'and outline them once in the photo' },
    { done: taken.spray, href: '/plan/new', name: 'Plan the spray or log it', why: 'what, how much, where' },
    { done: taken.photoAfter, href: '/capture', name: 'Photograph again from the same place after 1, 3, 7 and 14 days', why: 'the change against the check is your answer' },
  ];
  const done = steps.filter((step) => step.done).length;
  if (done === steps.length) return null;
  const next = steps.find((step) => !step.done);
  return (
    <details className="sheet" open={empty || done < 3}>
      <summary>
        First steps: {done} of {steps.length} done
      </summary>
      <ol className="steps">
        {steps.map((step) => (
          <li key={step.name} className={step.done ? 'step-done' : undefined}>
            <Link href={step.href} className={step === next ? 'step-next' : undefined}>
              {step.name}
            </Link>{' '}
            <span className="soft">
              {step.why}
              {step.done ? ' · done' : step === next ? ' · next' : ''}
            </span>
          </li>
        ))}
      </ol>
    </details>
  );
}

import './cards.css';
import type { Metadata } from 'next';
import Link from 'next/link';
import { notFound } from 'next/navigation';
import { ActionForm } from '@/app/_ui/action-form';
import { currentLawn } from '@/app/_ui/current-lawn';
import { AmountField } from '@/app/_ui/field';
import { PrintButton } from '@/app/_ui/print-button';
import { TableHold } from '@/app/_ui/table-hold';
import { unitChoices } from '@/app/_ui/unit-choices';
import { findLawn } from '@/lib/diary/lawns';
import { findTrial } from '@/lib/diary/trials';
import { readCardsQuery } from '@/lib/forms/cards-form';
import { CODE_SIDE_MM } from '@/lib/photo/ground/card-design';
import { showLength } from '@/lib/units/display';
import { cardsToPeg } from '@/lib/work/photos/peg-cards';
import { removeCards, saveCards } from './actions';
import { CardDrawing } from './card-drawing';
import { askPage, Rights } from '@/app/_ui/rights';

export const metadata: Metadata = { title: 'Plot cards' };

export default async function CardsPage({
  searchParams,
}: {
  searchParams: Promise<Record<string, string | string[] | undefined>>;
}) {
  const asked = readCardsQuery(await searchParams);
  const trial = asked.trial ? await findTrial(asked.trial) : null;
  if (asked.trial) await askPage('looks', { trial: asked.trial });
  const lawn = trial ? await findLawn(trial.lawnId) : asked.trial ? null : await currentLawn();
  if (!lawn) notFound();
  const system = lawn.unitSystem;
  const paper = asked.paper ?? (system === 'metric' ? 'a4' : 'letter');
  const cards = await cardsToPeg(lawn.id, trial?.id ?? null);
  const address = (size: string) =>
    `/cards?${new URLSearchParams({ ...(trial ? { trial: trial.id } : {}), paper: size })}`;
  const side = showLength(CODE_SIDE_MM / 1000, system, 4).text;
  return (
    <>
      <Rights lawnId={lawn.id} quiet />
      <div className="no-print">
        <div className="row row-end">
          <h1>Plot cards {trial ? `for ${trial.name}` : `for ${lawn.name}`}</h1>
          <Link className="button" href={trial ? `/trials/${trial.id}` : '/lawn'}>
            Back
          </Link>
        </div>
        <p>
          On bare turf seen from above there is nothing by which two photos could be lined up. A card with a square code
          on a peg at each corner gives the plots their place, the camera its tilt and the photo its white in one shot,
          also in the first photo of all.
        </p>
        <section className="sheet">
          <h2>Where the pegs stand</h2>
          {cards.length > 0 && (
            <TableHold label="Pegs">
              <table>
                <thead>
                  <tr>
                    <th scope="col">Card</th>
                    <th scope="col">Corner</th>
                    <th scope="col">To the right</th>
                    <th scope="col">Away from you</th>
                  </tr>
                </thead>
                <tbody>
                  {cards.map((card) => (
                    <tr key={card.id}>
                      <td>{card.number}</td>
                      <td>{card.place}</td>
                      <td>{showLength(card.rightM, system).text}</td>
                      <td>{showLength(card.awayM, system).text}</td>
                    </tr>
                  ))}
                </tbody>
              </table>
            </TableHold>
          )}
          <ActionForm
            action={saveCards.bind(null, lawn.id, trial?.id ?? null)}
            submit={cards.length > 0 ? 'Place them anew' : 'Use four cards here'}
          >
            <AmountField
              name="outside"
              label="How far outside the corners"
              hint="Along both edges, so that no card lies on a plot."
              units={unitChoices('length', system)}
              defaultValue={system === 'metric' ? 0.3 : 1}
              defaultUnit={system === 'metric' ? 'm' : 'ft'}
            />
          </ActionForm>
          {cards.length > 0 && (
            <form action={removeCards.bind(null, lawn.id, trial?.id ?? null)}>
              <button type="submit">Put these cards away</button>
            </form>
          )}
        </section>
        {cards.length > 0 && (
          <section className="sheet">
            <h2>How to use them</h2>
            <ol>
              <li>
                Drive a peg flush with the soil at each corner, below the mower’s blades, and leave it there for the
                season. Distances are from the near-left peg.
              </li>
              <li>
                Print at full size (not “fit to page”): the black square must measure {side} a side. Matt paper on a
                stiff board; glossy plastic mirrors the sky.
              </li>
              <li>
                For each photo lay every card with the middle of its square over its peg: the four short lines point at
                the middle. How a card is turned does not matter.
              </li>
              <li>
                Flat on the turf, in the same light as the plots, the white round the square uncovered. Three of the
                four are enough.
              </li>
              <li>Take them up afterwards.</li>
            </ol>
            <p className="soft">
              The grey field brings photos of different days to one white. A home printer’s grey is no standard: it
              serves to compare photos of the same cards, no more.
            </p>
            <div className="row">
              <PrintButton />
              {(['a4', 'letter'] as const).map((size) => (
                <Link key={size} className="chip" aria-current={paper === size} href={address(size)}>
                  {size === 'a4' ? 'A4' : 'US letter'}
                </Link>
              ))}
            </div>
          </section>
        )}
      </div>
      {cards.length > 0 && (
        <div className={`card-sheets paper-${paper}`}>
          {cards.map((card) => (
            <CardDrawing key={card.id} number={card.number} place={card.place} />
          ))}
        </div>
      )}
    </>
  );
}

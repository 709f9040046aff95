import '../../_parts/trials.css';
import type { Metadata } from 'next';
import Link from 'next/link';
import { notFound } from 'next/navigation';
import { ActionForm } from '@/app/_ui/action-form';
import { Choose, Field, Tick } from '@/app/_ui/field';
import { TableHold } from '@/app/_ui/table-hold';
import { readSiteQuery } from '@/lib/forms/on-site-form';
import { columnsOf, type MeasurementKind } from '@/lib/trial/measurement';
import { RATING_WORDS } from '@/lib/trial/rating';
import { momentText } from '@/lib/units/dates';
import { significant, unitLabel } from '@/lib/units/display';
import { localOfInstant } from '@/lib/work/diary/lawn-time';
import { labelOf, readTrial } from '@/lib/work/trials/trial-record';
import { saveMeasurements, saveSiteRatings, takeBackMeasurement } from './actions';
import { askPage } from '@/app/_ui/rights';
import { nameNow } from '@/lib/work/people/rights';

export const metadata: Metadata = { title: 'On the lawn' };

const WHAT = [
  ['rating', 'Rating, 1 to 9'],
  ['clippings', 'Weight of clippings'],
  ['meter', 'A meter’s reading'],
  ['count', 'A count'],
] as const;
const NAMES: Record<MeasurementKind, string> = { clippings: 'Clippings', meter: '', count: '' };
const HINTS: Record<MeasurementKind, string> = {
  clippings: 'Fresh or dry, from one pass or from the whole strip: the same for all strips, and said in the name.',
  meter: 'As the meter calls it: a chlorophyll or reflectance reading, soil moisture, firmness.',
  count: 'What is counted and on how much ground: “dandelions a strip”, “spots in the ring”.',
};

/** Rating and measuring on the lawn itself, strip by strip, without a photo. */
export default async function OnSitePage({
  params,
  searchParams,
}: {
  params: Promise<{ id: string }>;
  searchParams: Promise<Record<string, string | string[] | undefined>>;
}) {
  await askPage('works', { trial: (await params).id });
  const record = await readTrial((await params).id);
  if (!record) notFound();
  const { what } = readSiteQuery(await searchParams);
  const { trial, lawn } = record;
  const base = `/trials/${trial.id}`;
  const now = localOfInstant(new Date(), lawn.timeZone);
  const strips = trial.plots
    .map((plot) => ({ id: plot.plotId, label: labelOf(trial, plot.plotId) }))
    .toSorted((a, b) => a.label.localeCompare(b.label, 'en', { numeric: true }));
  const known = columnsOf(record.measurements, record.lawn.unitSystem).filter((column) => column.kind === what);
  const last = known.at(-1);
  const fields = strips.map((strip, index) => (
    <div key={strip.id} className="field">
      <input type="hidden" name={`rows.${index}.plotId`} value={strip.id} />
      {what === 'rating' ? (
        <fieldset className="rate-line">
          <legend>{strip.label}</legend>
          <div className="scores">
            {[1, 2, 3, 4, 5, 6, 7, 8, 9].map((score) => (
              <label key={score}>
                <input
                  type="radio"
                  name={`rows.${index}.value`}
                  value={score}
                  aria-label={`Strip ${strip.label}: ${score}`}
                />
                <span aria-hidden="true">{score}</span>
              </label>
            ))}
          </div>
        </fieldset>
      ) : (
        <Field name={`rows.${index}.value`} label={`Strip ${strip.label}`} numeric />
      )}
    </div>
  ));
  const when = <Field name="at" label="When" type="datetime-local" defaultValue={now} required />;
  const back = (
    <Link className="button" href={base}>
      Back to the trial
    </Link>
  );
  return (
    <>
      <h1>On the lawn: {trial.name}</h1>
      <nav className="row" aria-label="What to write down" style={{ marginBottom: '1rem' }}>
        {WHAT.map(([kind, words]) => (
          <Link key={kind} className="chip" aria-current={kind === what} href={`${base}/on-site?what=${kind}`}>
            {words}
          </Link>
        ))}
      </nav>
      <section className="sheet">
        {what === 'rating' ? (
          <ActionForm
            key="rating"
            action={saveSiteRatings.bind(null, trial.id)}
            submit="Keep the ratings"
            draftKey={`draft:site-rating:${trial.id}`}
            secondary={back}
          >
            <p>
              1 is {RATING_WORDS[1]}, 6 {RATING_WORDS[6]}, 9 {RATING_WORDS[9]}. Strips stand by the numbers on their
              stakes; what was sprayed on them isn’t shown.
            </p>
            <div className="fields">
              <Field name="rater" label="Who rates" defaultValue={nameNow()} required />
              {when}
            </div>
            <Tick name="blind" label="I don’t know which strip was sprayed with what" />
            <div className="fields">{fields}</div>
          </ActionForm>
        ) : (
          <ActionForm
            key={what}
            action={saveMeasurements.bind(null, trial.id)}
            submit="Keep the values"
            draftKey={`draft:site-${what}:${trial.id}`}
            secondary={back}
          >
            <input type="hidden" name="kind" value={what} />
            <div className="fields">
              <Field
                name="name"
                label="What it is"
                defaultValue={last?.name ?? NAMES[what]}
                hint={HINTS[what]}
                list={known.map((column) => column.name)}
                required
              />
              {what === 'clippings' ? (
                <Choose
                  name="unit"
                  label="Unit"
                  choices={(lawn.unitSystem === 'metric' ? ['g', 'oz'] : ['oz', 'g']).map((unit) => ({
                    value: unit,
                    label: unit === 'oz' ? 'oz (weight)' : unit,
                  }))}
                />
              ) : (
                <Field name="unit" label="Unit, if it has one" defaultValue={last?.unit ?? ''} />
              )}
              {when}
              <Field name="by" label="Who, if it matters" defaultValue={nameNow()} />
            </div>
            <div className="fields">{fields}</div>
          </ActionForm>
        )}
      </section>
      {record.measurements.length > 0 && (
        <section className="sheet">
          <h2>Measured so far</h2>
          <TableHold label="Measured so far">
            <table>
              <thead>
                <tr>
                  <th>When</th>
                  <th>What</th>
                  <th>Strip</th>
                  <th className="number">Value</th>
                  <th>By</th>
                  <th>
                    <span className="visually-hidden">Take back</span>
                  </th>
                </tr>
              </thead>
              <tbody>
                {record.measurements.toReversed().map((one) => (
                  <tr key={one.id}>
                    <td>{momentText(one.measuredAt, lawn)}</td>
                    <td>{one.name}</td>
                    <td>{labelOf(trial, one.plotId)}</td>
                    <td className="number">
                      {significant(one.enteredValue, 6)} {unitLabel(one.enteredUnit)}
                    </td>
                    <td>{one.by}</td>
                    <td>
                      <form action={takeBackMeasurement.bind(null, trial.id)}>
                        <input type="hidden" name="id" value={one.id} />
                        <button
                          type="submit"
                          className="button-plain"
                          aria-label={`Take back ${one.name} of strip ${labelOf(trial, one.plotId)}`}
                        >
                          Take back
                        </button>
                      </form>
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          </TableHold>
        </section>
      )}
    </>
  );
}

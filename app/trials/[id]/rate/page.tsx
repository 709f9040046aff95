import '../../_parts/trials.css';
import type { Metadata } from 'next';
import Link from 'next/link';
import { notFound } from 'next/navigation';
import { readRateQuery } from '@/lib/forms/trial-form';
import { RATING_WORDS } from '@/lib/trial/rating';
import { By } from '@/app/_ui/by';
import { blindStrips, ratingDays, ratingSittings } from '@/lib/work/trials/rate-blind';
import { ratingAgreement } from '@/lib/work/trials/rating-agreement';
import { readTrial } from '@/lib/work/trials/trial-record';
import { saveRatings } from '../../actions';
import { AgreementTables } from './agreement-tables';
import { RateForm } from './rate-form';
import { dateText } from '@/lib/units/dates';
import { askPage } from '@/app/_ui/rights';
import { nameNow } from '@/lib/work/people/rights';

export const metadata: Metadata = { title: 'Rate blind' };

export default async function RatePage({
  params,
  searchParams,
}: {
  params: Promise<{ id: string }>;
  searchParams: Promise<Record<string, string | string[] | undefined>>;
}) {
  await askPage('works', { trial: (await params).id });
  const record = await readTrial((await params).id);
  if (!record) notFound();
  const { rater, on } = readRateQuery(await searchParams);
  const { trial } = record;
  const days = ratingDays(record);
  const base = `/trials/${trial.id}`;
  if (rater && on && days.some((day) => day.on === on)) {
    const strips = blindStrips(record, on, rater);
    return (
      <>
        <h1>Rate strips, blind</h1>
        <p>
          {rater}, photos of {dateText(on, record.lawn)}. {strips.length} pictures in an order drawn by lot; some strips
          may come twice.{' '}
          {trial.causeTest
            ? 'Rate the haze alone: 9 is none, 5 half of the strip, 1 all over. '
            : `1 is ${RATING_WORDS[1] ?? ''}, 6 ${RATING_WORDS[6] ?? ''}, 9 ${RATING_WORDS[9] ?? ''}. Judge colour and evenness together. `}
          Don’t go back.
        </p>
        <RateForm
          action={saveRatings.bind(null, trial.id)}
          rater={rater}
          back={base}
          strips={strips.map(({ number, item }) => ({ number, ...item }))}
        />
      </>
    );
  }
  return (
    <>
      <div className="row row-end">
        <h1>Rate blind</h1>
        <Link className="button" href={base}>
          Back to the trial
        </Link>
      </div>
      <section className="sheet">
        <p>
          You see each strip cropped and straightened, without its name, in an order drawn by lot. Nobody’s earlier
          scores are shown before you have given yours.
        </p>
        <p>
          Standing on the lawn? <Link href={`${base}/on-site`}>Rate by stake number, without a photo</Link>.
        </p>
        {days.length === 0 ? (
          <p className="notice">
            No strip is outlined in a photo yet. <Link href="/photos">Add photos</Link> first.
          </p>
        ) : (
          <form className="stack" action={`${base}/rate`}>
            <div className="fields">
              <div className="field">
                <label htmlFor="rater">Who rates</label>
                <input
                  id="rater"
                  name="rater"
                  required
                  maxLength={60}
                  defaultValue={rater ?? nameNow() ?? ''}
                  autoComplete="off"
                />
              </div>
              <div className="field">
                <label htmlFor="on">Photos of</label>
                <select id="on" name="on" defaultValue={days.at(-1)?.on}>
                  {days.map((day) => (
                    <option key={day.on} value={day.on}>
                      {dateText(day.on, record.lawn)}, {day.strips} strips
                      {day.raters.length > 0 ? `, rated by ${day.raters.length}` : ''}
                    </option>
                  ))}
                </select>
              </div>
            </div>
            <div className="row">
              <button type="submit">Start rating</button>
            </div>
          </form>
        )}
      </section>
      {record.ratings.length > 0 && (
        <section className="sheet">
          <h2>Given so far</h2>
          <ul>
            {ratingSittings(record).map((one) => (
              <li key={JSON.stringify(one)}>
                {dateText(one.on, record.lawn)}: {one.scores} {one.scores === 1 ? 'score' : 'scores'} by {one.rater}
                {one.blind ? ', blind' : ''}. <By words="Written down by" id={one.byPersonId} />
              </li>
            ))}
          </ul>
        </section>
      )}
      {record.ratings.length > 0 && (
        <section className="sheet">
          <h2>Agreement</h2>
          <AgreementTables agreement={ratingAgreement(record)} />
        </section>
      )}
    </>
  );
}

import type { Metadata } from 'next';
import Link from 'next/link';
import { notFound, redirect } from 'next/navigation';
import { AnswerView } from '@/app/_ui/answer';
import { BeingWorkedOut } from '@/app/_ui/being-worked-out';
import { How } from '@/app/_ui/how';
import { momentText, timeText } from '@/lib/units/dates';
import { PhotoCard } from '@/app/_ui/photo-card';
import { TableHold } from '@/app/_ui/table-hold';
import { findLawn } from '@/lib/diary/lawns';
import { findSpray } from '@/lib/diary/sprays';
import {
  showArea,
  showDryRate,
  showLiquidRate,
  showMass,
  showSpeed,
  showTemperature,
  showTyped,
  showVolume,
  significant,
  type UnitSystem,
} from '@/lib/units/display';
import { answerOfSpray } from '@/lib/work/diary/answers';
import { photosSince } from '@/lib/work/photos/photo-links';
import { labelBreaches } from '@/lib/work/sprays/label-breaches';
import { CheckList } from '../../plan/_bench/checks';
import { removeSpray } from '../actions';
import { WeatherSection } from './weather-section';
import { askPage, Rights } from '@/app/_ui/rights';
import { By } from '@/app/_ui/by';

export const metadata: Metadata = { title: 'A spray' };

/** An amount in the measure its product is bought in. */
function amountText(form: string, massKg: number | null, volumeL: number | null, system: UnitSystem): string {
  if (form === 'liquid' && volumeL !== null) return showVolume(volumeL, system).text;
  return massKg === null ? '–' : showMass(massKg, system).text;
}

const shareText = (part: number, whole: number) => `${significant((part / whole) * 100)} %`;

/** What went out against what was planned, as a share of the plan. */
function differenceText({
  plannedKg,
  plannedL,
  actualKg,
  actualL,
}: {
  plannedKg: number | null;
  plannedL: number | null;
  actualKg: number | null;
  actualL: number | null;
}): string {
  const [planned, actual] = plannedKg !== null && actualKg !== null ? [plannedKg, actualKg] : [plannedL, actualL];
  if (planned === null || actual === null || planned === 0) return '–';
  const percent = (actual / planned - 1) * 100;
  return Math.abs(percent) < 0.05 ? 'as planned' : `${percent > 0 ? '+' : '−'}${significant(Math.abs(percent), 2)} %`;
}

export default async function SprayPage({ params }: { params: Promise<{ id: string }> }) {
  await askPage('looks', { spray: (await params).id });
  const spray = await findSpray((await params).id);
  const lawn = spray ? await findLawn(spray.lawnId) : null;
  if (!spray || !lawn) notFound();
  if (spray.state === 'planned') redirect(`/plan/${spray.id}`);
  const planned = spray.items.some((item) => item.plannedKg !== null || item.plannedL !== null);
  const [photos, breaches] = await Promise.all([photosSince(spray), labelBreaches(lawn, spray)]);
  const { answer, pending } = await answerOfSpray(lawn, spray, photos);
  const system = lawn.unitSystem;
  const weather = [
    spray.airTempC !== null && showTemperature(spray.airTempC, system).text,
    spray.relHumidityPercent !== null && `${significant(spray.relHumidityPercent)} % humidity`,
    spray.windMPerS !== null && `wind ${showSpeed(spray.windMPerS, system).text}`,
  ].filter(Boolean);
  return (
    <>
      <Rights lawnId={lawn.id} quiet />
      <div className="row row-end">
        <h1>Spray of {momentText(spray.startedAt, lawn)}</h1>
        <div className="row">
          <Link className="button" href={`/plan/new?like=${spray.id}`}>
            Plan this again
          </Link>
          <Link className="button" href={`/sprays/${spray.id}/edit`}>
            Change
          </Link>
        </div>
      </div>
      <BeingWorkedOut lawnId={lawn.id} photos={pending} />
      <AnswerView
        answer={answer}
        after={
          photos.length > 0 && (
            <>
              {' '}
              <How to="change" />
            </>
          )
        }
      />
      <div className="split">
        <section className="sheet">
          <h2>What went out</h2>
          <TableHold label="What went out">
            <table>
              <thead>
                <tr>
                  <th>Product</th>
                  {planned && <th className="number">Planned</th>}
                  <th className="number">{planned ? 'Went out' : 'Amount'}</th>
                  <th className="number">Rate, as entered</th>
                  <th className="number">On an area</th>
                </tr>
              </thead>
              <tbody>
                {spray.items.map((item) => (
                  <tr key={item.id}>
                    <td>
                      <Link href={`/shelf/${item.productId}`}>{item.product.name}</Link>
                    </td>
                    {planned && (
                      <td className="number">{amountText(item.product.form, item.plannedKg, item.plannedL, system)}</td>
                    )}
                    <td className="number">
                      {item.product.form === 'liquid' && item.actualL !== null
                        ? showVolume(item.actualL, system).text
                        : item.actualKg !== null
                          ? showMass(item.actualKg, system).text
                          : '–'}
                      {planned && <div className="soft">{differenceText(item)}</div>}
                      {item.actualEnteredValue !== null && item.actualEnteredUnit !== null && (
                        <div className="soft">
                          measured out:{' '}
                          {showTyped({ value: item.actualEnteredValue, unit: item.actualEnteredUnit }, system).text}
                        </div>
                      )}
                    </td>
                    <td className="number">
                      {showTyped({ value: item.rateEnteredValue, unit: item.rateEnteredUnit }, system).text}
                    </td>
                    <td className="number">
                      {item.product.form === 'liquid' && item.rateLPerHa !== null
                        ? showLiquidRate(item.rateLPerHa, system).text
                        : item.rateKgPerHa !== null
                          ? showDryRate(item.rateKgPerHa, system).text
                          : '–'}
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          </TableHold>
          <p className="soft">
            {spray.carrierLPerHa === null
              ? 'Carrier volume not recorded.'
              : `Carrier volume ${showLiquidRate(spray.carrierLPerHa, system).text}.`}{' '}
            {spray.actualVolumeL !== null && `Sprayed ${showVolume(spray.actualVolumeL, system).text}.`}{' '}
            {spray.leftoverL !== null && `Left over ${showVolume(spray.leftoverL, system).text}.`}
          </p>
          {planned && spray.plannedVolumeL !== null && (
            <p>
              Planned {showVolume(spray.plannedVolumeL, system).text} of mix
              {spray.actualVolumeL !== null &&
                `; ${shareText(spray.actualVolumeL, spray.plannedVolumeL)} of it was sprayed`}
              . <Link href={`/plan/${spray.id}/card`}>Tank card</Link>
            </p>
          )}
          {spray.predictedPh !== null && (
            <p>
              pH worked out {spray.predictedPh.toFixed(1)}
              {spray.measuredPh !== null && `, measured ${significant(spray.measuredPh)}`}. <How to="water" />
            </p>
          )}
          {spray.overLimitReason && (
            <p className="notice notice-bad">
              <strong>Past a label limit, on purpose:</strong> {spray.overLimitReason}
            </p>
          )}
          {spray.note && <p>{spray.note}</p>}
        </section>
        <section className="sheet">
          <h2>Where and when</h2>
          <p>
            {spray.plots.map((covered) => (
              <span key={covered.plotId} className="chip">
                {covered.plot.name} · {showArea(covered.areaM2, system).text}
              </span>
            ))}
          </p>
          {spray.endedAt && <p>Ended {timeText(spray.endedAt, lawn)}.</p>}
          <p>
            {weather.length > 0
              ? `${weather.join(', ')} (${spray.weatherSource === 'hours' ? 'from the weather hours, wind near the ground' : spray.weatherSource === 'plan' ? 'as typed in the plan, until the weather hours come' : 'typed'})`
              : 'Weather not recorded.'}
          </p>
          {spray.measuredPh !== null && <p>pH of the mix {significant(spray.measuredPh)}.</p>}
          {spray.applicator && (
            <p>
              Sprayed by {spray.applicator}
              {spray.applicatorLicence && `, licence ${spray.applicatorLicence}`}.
            </p>
          )}
          <By words="Written down by" id={spray.byPersonId} />
        </section>
      </div>
      <WeatherSection lawn={lawn} spray={spray} />
      {breaches.length > 0 && (
        <section className="sheet">
          <h2>Against the labels</h2>
          <CheckList checks={breaches} system={system} />
          <How to="limits" />
        </section>
      )}
      <section>
        <h2>Photos since</h2>
        {photos.length === 0 ? (
          <p className="soft">
            None yet. Photographs at 1, 3, 7 and 14 days from the same place show the response best.
          </p>
        ) : (
          <ul className="photo-grid">
            {photos.map((photo) => (
              <li key={photo.id}>
                <PhotoCard photo={photo} reader={lawn} since={spray.startedAt} />
              </li>
            ))}
          </ul>
        )}
      </section>
      <form action={removeSpray}>
        <input type="hidden" name="id" value={spray.id} />
        <button type="submit" className="button-warn">
          Move to the bin
        </button>
      </form>
    </>
  );
}

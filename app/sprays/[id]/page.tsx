import type { Metadata } from 'next';
import Link from 'next/link';
import { notFound } from 'next/navigation';
import { momentText, timeText } from '@/app/_ui/dates';
import { PhotoCard } from '@/app/_ui/photo-card';
import { findLawn } from '@/lib/diary/lawns';
import { listPhotosOfSpray } from '@/lib/diary/photos';
import { findSpray } from '@/lib/diary/sprays';
import { showArea, showDryRate, showLiquidRate, showMass, showSpeed, showTemperature, showVolume, significant, unitLabel } from '@/lib/units/display';
import { removeSpray } from '../actions';
import { WeatherSection } from './weather-section';

export const metadata: Metadata = { title: 'A spray' };

export default async function SprayPage({ params }: { params: Promise<{ id: string }> }) {
  const spray = await findSpray((await params).id);
  const lawn = spray ? await findLawn(spray.lawnId) : null;
  if (!spray || !lawn) notFound();
  const photos = await listPhotosOfSpray(spray.id);
  const system = lawn.unitSystem;
  const weather = [
    spray.airTempC !== null && showTemperature(spray.airTempC, system).text,
    spray.relHumidityPercent !== null && `${significant(spray.relHumidityPercent)} % humidity`,
    spray.windMPerS !== null && `wind ${showSpeed(spray.windMPerS, system).text}`,
  ].filter(Boolean);
  return (
    <>
      <div className="row row-end">
        <h1>Spray of {momentText(spray.startedAt, lawn.timeZone)}</h1>
        <Link className="button" href={`/sprays/${spray.id}/edit`}>
          Change
        </Link>
      </div>
      <div className="split">
        <section className="sheet">
          <h2>What went out</h2>
          <div className="table-hold">
            <table>
              <thead>
                <tr>
                  <th>Product</th>
                  <th className="number">Rate as typed</th>
                  <th className="number">On an area</th>
                  <th className="number">Amount</th>
                </tr>
              </thead>
              <tbody>
                {spray.items.map((item) => (
                  <tr key={item.id}>
                    <td>
                      <Link href={`/shelf/${item.productId}`}>{item.product.name}</Link>
                    </td>
                    <td className="number">
                      {significant(item.rateEnteredValue, 6)} {unitLabel(item.rateEnteredUnit)}
                    </td>
                    <td className="number">
                      {item.product.form === 'liquid' && item.rateLPerHa !== null
                        ? showLiquidRate(item.rateLPerHa, system).text
                        : item.rateKgPerHa !== null
                          ? showDryRate(item.rateKgPerHa, system).text
                          : '–'}
                    </td>
                    <td className="number">
                      {item.product.form === 'liquid' && item.actualL !== null
                        ? showVolume(item.actualL, system).text
                        : item.actualKg !== null
                          ? showMass(item.actualKg, system).text
                          : '–'}
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          </div>
          <p className="soft">
            {spray.carrierLPerHa === null ? 'Carrier volume not recorded.' : `Carrier volume ${showLiquidRate(spray.carrierLPerHa, system).text}.`}{' '}
            {spray.actualVolumeL !== null && `Sprayed ${showVolume(spray.actualVolumeL, system).text}.`} {spray.leftoverL !== null && `Left over ${showVolume(spray.leftoverL, system).text}.`}
          </p>
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
          {spray.endedAt && <p>Ended {timeText(spray.endedAt, lawn.timeZone)}.</p>}
          <p>{weather.length > 0 ? `${weather.join(', ')} (${spray.weatherSource === 'hours' ? 'from the weather hours, wind at 2 m' : 'typed'})` : 'Weather not recorded.'}</p>
          {spray.measuredPh !== null && <p>pH of the mix {significant(spray.measuredPh)}.</p>}
          {spray.applicator && <p>Sprayed by {spray.applicator}.</p>}
        </section>
      </div>
      <WeatherSection lawn={lawn} spray={spray} />
      <section>
        <h2>Photos since</h2>
        {photos.length === 0 ? (
          <p className="soft">None yet. Photographs at 1, 3, 7 and 14 days from the same place show the response best.</p>
        ) : (
          <ul className="photo-grid">
            {photos.map((photo) => (
              <li key={photo.id}>
                <PhotoCard photo={photo} timeZone={lawn.timeZone} since={spray.startedAt} />
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

import '../_parts/trials.css';
import { randomInt } from 'node:crypto';
import type { Metadata } from 'next';
import Link from 'next/link';
import { currentLawn } from '@/app/_ui/current-lawn';
import { unitChoices } from '@/app/_ui/unit-choices';
import { listProducts } from '@/lib/diary/products';
import { listSprayers } from '@/lib/diary/sprayers';
import { fromM } from '@/lib/units/length';
import { localOfInstant } from '@/lib/work/diary/lawn-time';
import { scatterOfLawn } from '@/lib/work/trials/plot-scatter';
import { saveTrial } from '../actions';
import { Designer } from './designer';
import { askPage } from '@/app/_ui/rights';

export const metadata: Metadata = { title: 'Lay out a trial' };

export default async function NewTrialPage() {
  const lawn = await currentLawn();
  if (lawn) await askPage('keeps', { lawn: lawn.id });
  const [products, sprayers] = lawn ? await Promise.all([listProducts(), listSprayers(lawn.id)]) : [[], []];
  const missing = !lawn ? 'a lawn' : products.length === 0 ? 'a product' : null;
  if (!lawn || missing) {
    return (
      <div className="teach">
        <h2>First {missing}</h2>
        <p>A trial compares mixes of products from the shelf on strips of a lawn. Set up {missing} and come back.</p>
        <Link className="button button-main" href={missing === 'a product' ? '/shelf/new' : '/lawn'}>
          Set up {missing}
        </Link>
      </div>
    );
  }
  const unit = lawn.unitSystem === 'metric' ? 'm' : 'ft';
  const swathM = sprayers.find((sprayer) => sprayer.swathM !== null)?.swathM ?? (unit === 'm' ? 0.75 : 0.762);
  const scatter = await scatterOfLawn(lawn.id);
  const dryUnits = unitChoices('dryRate', lawn.unitSystem);
  return (
    <>
      <h1>Lay out a trial</h1>
      <div className="sheet">
        <Designer
          action={saveTrial.bind(null, lawn.id)}
          products={products.map(({ id, name, form, labelRateEnteredValue, labelRateEnteredUnit }) => ({
            id,
            name,
            form,
            usualValue: labelRateEnteredValue,
            usualUnit: labelRateEnteredUnit,
          }))}
          liquidUnits={unitChoices('liquidRate', lawn.unitSystem)}
          dryUnits={dryUnits}
          carrierUnits={unitChoices('carrier', lawn.unitSystem)}
          defaultRateUnit={dryUnits[0]?.value ?? ''}
          unit={unit}
          startsOn={localOfInstant(new Date(), lawn.timeZone).slice(0, 10)}
          seed={randomInt(1, 1_000_000)}
          swath={String(Number(fromM(swathM, unit).value.toPrecision(4)))}
          scatter={String(Number(scatter.sd.toPrecision(2)))}
          scatterFrom={scatter.from}
        />
      </div>
    </>
  );
}

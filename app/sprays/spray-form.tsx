import Link from 'next/link';
import { ActionForm } from '@/app/_ui/action-form';
import { asCheck } from '@/app/_ui/change-text';
import { AmountField, type Choice, Choose, Field, TextArea } from '@/app/_ui/field';
import { totalChoices, unitChoices } from '@/app/_ui/unit-choices';
import type { Lawn } from '@/lib/diary/lawns';
import type { Plot } from '@/lib/diary/plots';
import type { Product } from '@/lib/diary/products';
import type { Sprayer } from '@/lib/diary/sprayers';
import type { Spray } from '@/lib/diary/sprays';
import { inOwnUnit, isOwnUnit, showArea, type UnitSystem } from '@/lib/units/display';
import { fromC } from '@/lib/units/temperature';
import { fromL } from '@/lib/units/volume';
import { fromMPerS } from '@/lib/units/speed';
import { fieldDigits } from '@/lib/units/field-digits';
import { localOfInstant } from '@/lib/work/diary/lawn-time';
import { saveSpray } from './actions';
import { PlotTicks } from './plot-ticks';
import { SprayItems } from './spray-items';
import { nameNow } from '@/lib/work/people/rights';

/** A rate as a label prints it, or what went into the tank in all, after the reader's own units. */
function withTotals(form: 'liquid' | 'dry', system: UnitSystem): Choice[] {
  const rates = unitChoices(form === 'liquid' ? 'liquidRate' : 'dryRate', system);
  const own = rates.filter((unit) => isOwnUnit(unit.value, system));
  return [...own, ...totalChoices(form, system), ...rates.filter((unit) => !own.includes(unit))];
}

const digits = (value: number | null | undefined) => (value == null ? undefined : fieldDigits(value));

export function SprayForm({
  lawn,
  plots,
  products,
  sprayers,
  spray,
  ticked = [],
  now,
}: {
  lawn: Lawn;
  plots: Plot[];
  products: Product[];
  sprayers: Sprayer[];
  spray: Spray | null;
  /** Plots ticked in a new one. */
  ticked?: readonly string[];
  now: Date;
}) {
  const system = lawn.unitSystem;
  const metric = system === 'metric';
  // Weather that came from the hours is left to them: only what a person types here is theirs, and stays.
  const fromHours = spray?.weatherSource === 'hours';
  const typed = spray?.weatherSource === 'typed' ? spray : null;
  return (
    <ActionForm
      action={saveSpray.bind(null, lawn.id, spray?.id ?? null)}
      submit={spray ? 'Save the spray' : 'Write it into the diary'}
      draftKey={spray ? `spray-${spray.id}` : `spray-new-${lawn.id}`}
      secondary={
        <Link className="button" href={spray ? `/sprays/${spray.id}` : '/'}>
          Leave it
        </Link>
      }
    >
      <div className="fields">
        <Field
          name="startedLocal"
          label="Start"
          type="datetime-local"
          defaultValue={localOfInstant(spray?.startedAt ?? now, lawn.timeZone)}
          hint={`Local time, ${lawn.timeZone}`}
        />
        <Field
          name="endedLocal"
          label="End"
          type="datetime-local"
          defaultValue={spray?.endedAt ? localOfInstant(spray.endedAt, lawn.timeZone) : ''}
        />
        <Choose
          name="sprayerId"
          label="Sprayer"
          defaultValue={spray ? (spray.sprayerId ?? '') : (sprayers[0]?.id ?? '')}
          choices={[
            ...sprayers.map((sprayer) => ({ value: sprayer.id, label: sprayer.name })),
            { value: '', label: 'Another' },
          ]}
        />
      </div>
      <PlotTicks
        plots={[
          ...plots.map((plot) => ({
            id: plot.id,
            label: `${plot.name} (${showArea(plot.areaM2, system).text})${asCheck(plot)}`,
            ticked: spray ? spray.plots.some((covered) => covered.plotId === plot.id) : ticked.includes(plot.id),
          })),
          ...(spray?.plots ?? [])
            .filter((covered) => plots.every((plot) => plot.id !== covered.plotId))
            .map((covered) => ({
              id: covered.plotId,
              label: `${covered.plot.name} (${showArea(covered.areaM2, system).text}), now in the bin`,
              ticked: true,
            })),
        ]}
      />
      <SprayItems
        products={products.map(
          ({
            id,
            name,
            form,
            labelRateEnteredValue,
            labelRateEnteredUnit,
            nAmmoniacalPercent,
            nNitratePercent,
            nUreaPercent,
            nOtherPercent,
          }) => {
            const usual =
              labelRateEnteredValue === null || labelRateEnteredUnit === null
                ? null
                : inOwnUnit({ value: labelRateEnteredValue, unit: labelRateEnteredUnit }, system);
            return {
              id,
              name,
              form,
              bringsNitrogen: nAmmoniacalPercent + nNitratePercent + nUreaPercent + nOtherPercent > 0,
              usualValue: usual?.value ?? null,
              usualUnit: usual?.unit ?? null,
            };
          },
        )}
        liquidUnits={withTotals('liquid', system)}
        dryUnits={withTotals('dry', system)}
        nitrogenUnit={
          metric ? { value: 'N:kg/ha', label: 'kg N/ha' } : { value: 'N:lb/1000ft2', label: 'lb N/1000 ft²' }
        }
        start={(spray?.items ?? []).map((item) => ({
          productId: item.productId,
          value: String(item.rateEnteredValue),
          unit: item.rateEnteredUnit,
        }))}
      />
      <fieldset>
        <legend>How it went out</legend>
        <div className="fields">
          <AmountField
            name="carrier"
            label="Carrier volume"
            hint="Left empty, the sprayer’s catch test counts."
            units={unitChoices('carrier', system)}
            defaultValue={spray?.carrierEnteredValue}
            defaultUnit={spray?.carrierEnteredUnit}
          />
          <AmountField
            name="actualVolume"
            label="Volume sprayed"
            units={unitChoices('tank', system)}
            defaultValue={digits(
              spray?.actualVolumeL == null ? null : fromL(spray.actualVolumeL, metric ? 'L' : 'us-gal').value,
            )}
            defaultUnit={metric ? 'L' : 'us-gal'}
          />
          <AmountField
            name="leftover"
            label="Left in the tank"
            units={unitChoices('tank', system)}
            defaultValue={digits(
              spray?.leftoverL == null ? null : fromL(spray.leftoverL, metric ? 'L' : 'us-gal').value,
            )}
            defaultUnit={metric ? 'L' : 'us-gal'}
          />
          <Field name="measuredPh" label="pH of the mix, measured" numeric defaultValue={spray?.measuredPh} />
        </div>
      </fieldset>
      <fieldset>
        <legend>Weather then</legend>
        <p className="soft">
          {fromHours
            ? 'Taken from the weather hours. What you type here counts instead, and hours that come later never overwrite it.'
            : 'Left empty, it is taken from the weather hours, now or when they arrive. What you type is never overwritten.'}
        </p>
        <div className="fields">
          <AmountField
            name="airTemp"
            label="Air temperature"
            units={unitChoices('temperature', system)}
            defaultValue={digits(
              typed?.airTempC == null ? null : fromC(typed.airTempC, metric ? 'degC' : 'degF').value,
            )}
            defaultUnit={metric ? 'degC' : 'degF'}
          />
          <Field
            name="relHumidityPercent"
            label="Relative humidity, %"
            numeric
            defaultValue={typed?.relHumidityPercent}
          />
          <AmountField
            name="wind"
            label="Wind"
            units={unitChoices('speed', system)}
            defaultValue={digits(
              typed?.windMPerS == null ? null : fromMPerS(typed.windMPerS, metric ? 'm/s' : 'mph').value,
            )}
            defaultUnit={metric ? 'm/s' : 'mph'}
          />
          <Field name="applicator" label="Who sprayed" defaultValue={spray ? spray.applicator : nameNow()} />
        </div>
      </fieldset>
      <TextArea name="note" label="Note" defaultValue={spray?.note ?? ''} />
    </ActionForm>
  );
}

import { ActionForm } from '@/app/_ui/action-form';
import { AmountField, Field, TextArea } from '@/app/_ui/field';
import { momentText } from '@/lib/units/dates';
import { unitChoices } from '@/app/_ui/unit-choices';
import type { Lawn } from '@/lib/diary/lawns';
import type { Spray } from '@/lib/diary/sprays';
import { measuredOut } from '@/lib/plan/measure-out';
import { readTypedPlan } from '@/lib/plan/typed-plan';
import { showSpeed, showTemperature, showVolume, significant, unitLabel } from '@/lib/units/display';
import type { KeptPlan } from '@/lib/work/sprays/keep-plan';
import { localOfInstant } from '@/lib/work/diary/lawn-time';
import { finishSpray } from '../actions';
import { nameNow } from '@/lib/work/people/rights';

const MASS = /^(mg|g|kg|oz|lb)$/;

/** What really happened: times, amounts, what was left, weather. Everything but the start may stay empty. */
export function DoneForm({ spray, kept, lawn, now }: { spray: Spray; kept: KeptPlan; lawn: Lawn; now: Date }) {
  const system = lawn.unitSystem;
  // Who writes it down before the planned hour has sprayed early.
  const early = spray.startedAt > now;
  const pack = unitChoices('pack', system);
  // The unit of the plan first: what differs from it is typed as it was read.
  const unitsOf = (form: 'liquid' | 'dry', planned: string | null) => {
    const weighed = planned === null ? form === 'dry' : MASS.test(planned);
    const others = pack.filter(
      (choice) => (weighed ? MASS : /^(mL|L|us-)/).test(choice.value) && choice.value !== planned,
    );
    return planned === null ? others : [{ value: planned, label: unitLabel(planned) }, ...others];
  };
  const wish = readTypedPlan(kept.typed).wish;
  const typed = [
    wish?.airTempC == null ? '' : showTemperature(wish.airTempC, system).text,
    wish?.relHumidityPercent == null ? '' : `${significant(wish.relHumidityPercent)}%`,
    wish?.windMPerS == null ? '' : `wind ${showSpeed(wish.windMPerS, system).text}`,
  ]
    .filter(Boolean)
    .join(', ');
  return (
    <ActionForm
      action={finishSpray.bind(null, spray.id)}
      submit="Write it into the diary"
      draftKey={`done-${spray.id}`}
    >
      <div className="fields">
        <Field
          name="startedLocal"
          label="Start"
          type="datetime-local"
          defaultValue={localOfInstant(early ? now : spray.startedAt, lawn.timeZone)}
          hint={
            early
              ? `Local time, ${lawn.timeZone}. Planned for ${momentText(spray.startedAt, lawn)}.`
              : `Local time, ${lawn.timeZone}`
          }
        />
        <Field name="endedLocal" label="End" type="datetime-local" />
        <AmountField
          name="actualVolume"
          label="Volume sprayed"
          units={unitChoices('tank', system)}
          hint={`Planned ${showVolume(spray.plannedVolumeL ?? 0, system).text}.`}
        />
        <AmountField name="leftover" label="Left in the tank" units={unitChoices('tank', system)} />
        <Field name="measuredPh" label="pH of the mix, measured" numeric />
      </div>
      <fieldset>
        <legend>Measured into the tank, where it differs from the plan</legend>
        <div className="fields">
          {spray.items.map((item, index) => {
            const planned = measuredOut(
              { massKg: item.plannedKg, volumeL: item.plannedL },
              item.product.form === 'liquid' ? 'liquid' : 'dry',
              system,
            );
            return (
              <div key={item.id}>
                <input type="hidden" name={`items.${index}.itemId`} value={item.id} />
                <AmountField
                  name={`items.${index}.actual`}
                  label={item.product.name}
                  units={unitsOf(item.product.form === 'liquid' ? 'liquid' : 'dry', planned.unit)}
                  defaultUnit={planned.unit}
                  hint={`Planned ${planned.text} (${planned.exact}).`}
                />
              </div>
            );
          })}
        </div>
      </fieldset>
      <details>
        <summary>Weather, and who sprayed</summary>
        <div className="fields">
          <p className="soft" style={{ gridColumn: '1 / -1' }}>
            Left empty, it is taken from the weather hours, now or when they come
            {typed ? `; until then from the plan (${typed})` : ''}.
          </p>
          <AmountField name="airTemp" label="Air temperature" units={unitChoices('temperature', system)} />
          <Field name="relHumidityPercent" label="Relative humidity, %" numeric />
          <AmountField name="wind" label="Wind" units={unitChoices('speed', system)} />
          <Field name="windFromDeg" label="Wind from, degrees" hint="0 north, 90 east." numeric />
          <Field name="applicator" label="Who sprayed" defaultValue={nameNow()} />
          <Field name="applicatorLicence" label="Licence number, where one is needed" />
        </div>
      </details>
      <TextArea name="note" label="Note" defaultValue={spray.note} />
      <p className="soft">Planned for {kept.result.plots.map((plot) => plot.name).join(', ')}.</p>
    </ActionForm>
  );
}

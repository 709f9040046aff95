import { ActionForm } from '@/app/_ui/action-form';
import { AmountField, Choose, Field, Tick } from '@/app/_ui/field';
import { unitChoices } from '@/app/_ui/unit-choices';
import type { Plot } from '@/lib/diary/plots';
import { fromM } from '@/lib/units/length';
import type { UnitSystem } from '@/lib/units/display';
import { fieldDigits } from '@/lib/units/field-digits';
import { savePlot } from './actions';

export function PlotForm({
  lawnId,
  plot,
  others,
  system,
}: {
  lawnId: string;
  plot: Plot | null;
  others: readonly Plot[];
  system: UnitSystem;
}) {
  const unit = system === 'metric' ? 'm' : 'ft';
  const inUnit = (valueM: number | undefined) =>
    valueM === undefined ? undefined : fieldDigits(fromM(valueM, unit).value);
  const corners = plot?.polygonM;
  const left = corners?.[0]?.[0];
  const right = corners?.[1]?.[0];
  const length = corners ? Math.max(...corners.map(([, y]) => y)) : undefined;
  return (
    <ActionForm
      action={savePlot.bind(null, lawnId, plot?.id ?? null)}
      submit={plot ? 'Save the plot' : 'Add this plot'}
    >
      <div className="fields">
        <Field name="name" label="Plot name" defaultValue={plot?.name} placeholder="A" required />
        <AmountField
          name="length"
          label="Length"
          units={unitChoices('length', system)}
          defaultValue={inUnit(length)}
          defaultUnit={unit}
        />
        <AmountField
          name="width"
          label="Width"
          units={unitChoices('length', system)}
          defaultValue={inUnit(left !== undefined && right !== undefined ? right - left : undefined)}
          defaultUnit={unit}
        />
        <AmountField
          name="offset"
          label="Distance from the left stake"
          hint="For strips side by side."
          units={unitChoices('length', system)}
          defaultValue={inUnit(left)}
          defaultUnit={unit}
        />
        <AmountField
          name="area"
          label="Or its area"
          hint="When it is no rectangle."
          units={unitChoices('area', system)}
          defaultValue={plot?.areaEnteredValue}
          defaultUnit={plot?.areaEnteredUnit}
        />
        <Choose
          name="ground"
          label="Where it lies"
          hint="Plots that share ground share what was sprayed on it."
          defaultValue={plot?.groundPlace === 'inside' ? plot.insidePlotId : plot?.groundPlace}
          choices={[
            { value: '', label: 'Not said' },
            { value: 'apart', label: 'On ground of its own' },
            { value: 'plan', label: 'By its distance from the left stake' },
            ...others
              .filter((other) => other.id !== plot?.id)
              .map((other) => ({ value: other.id, label: `Inside ${other.name}` })),
          ]}
        />
        <Tick name="isCheck" label="This is the check: it stays unsprayed" defaultChecked={plot?.isCheck ?? false} />
      </div>
    </ActionForm>
  );
}

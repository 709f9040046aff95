import { ActionForm } from '@/app/_ui/action-form';
import { AmountField, Choose, Field, TextArea, Tick } from '@/app/_ui/field';
import { unitChoices } from '@/app/_ui/unit-choices';
import type { Lawn } from '@/lib/diary/lawns';
import { significant, type UnitSystem } from '@/lib/units/display';
import { hardnessClass, hardnessMgPerLCaCO3 } from '@/lib/water/hardness';
import { fromM } from '@/lib/units/length';
import { fieldDigits } from '@/lib/units/field-digits';
import { UnitSystemChoice } from './unit-system-choice';
import { TimeZoneField } from './time-zone-field';
import { saveLawn } from './actions';

const grasses = [
  'Kentucky bluegrass',
  'Tall fescue',
  'Perennial ryegrass',
  'Fine fescue',
  'Creeping bentgrass',
  'Bermudagrass',
  'Zoysiagrass',
  'St. Augustinegrass',
  'Mixed',
];

/** How a report that names its ions is turned into hardness, and what kind of water the figure on record is. */
function hardnessHint(mgPerLCaCO3: number | null, system: UnitSystem): string {
  const [calcium, magnesium] = [hardnessMgPerLCaCO3(1, 0), hardnessMgPerLCaCO3(0, 1)];
  const sum = `Where the report gives calcium and magnesium in ${system === 'metric' ? 'mg/L' : 'ppm'}: ${significant(calcium)} × calcium + ${significant(magnesium)} × magnesium, as CaCO₃.`;
  return mgPerLCaCO3 === null ? sum : `The figure on record is ${hardnessClass(mgPerLCaCO3)} water. ${sum}`;
}

export function LawnForm({ lawn }: { lawn: Lawn }) {
  const system = lawn.unitSystem;
  const lengthUnit = system === 'metric' ? 'm' : 'ft';
  return (
    <ActionForm action={saveLawn.bind(null, lawn.id)} submit="Save the lawn" draftKey={`lawn-${lawn.id}`}>
      <div className="fields">
        <Field name="name" label="Name" defaultValue={lawn.name} placeholder="Front lawn" required />
        <UnitSystemChoice defaultValue={system} />
        <TimeZoneField defaultValue={lawn.timeZone} />
        <Field name="place" label="Place" defaultValue={lawn.place} hint="For your own reading only." />
        <Field
          name="latitudeDeg"
          label="Latitude"
          numeric
          defaultValue={lawn.latitudeDeg}
          hint="Degrees; south is negative. For the sun’s height and rise and set."
        />
        <Field
          name="longitudeDeg"
          label="Longitude"
          numeric
          defaultValue={lawn.longitudeDeg}
          hint="Degrees; west is negative."
        />
        <AmountField
          name="elevation"
          label="Elevation"
          units={unitChoices('length', system)}
          defaultValue={lawn.elevationM == null ? undefined : fieldDigits(fromM(lawn.elevationM, lengthUnit).value)}
          defaultUnit={lengthUnit}
        />
        <Field name="grass" label="Grass" list={grasses} defaultValue={lawn.grass} />
        <AmountField
          name="mowingHeight"
          label="Mowing height"
          units={unitChoices('mowing', system)}
          defaultValue={lawn.mowingHeightEnteredValue}
          defaultUnit={lawn.mowingHeightEnteredUnit}
        />
      </div>
      <fieldset>
        <legend>Water in the tank</legend>
        <div className="fields">
          <Field name="waterPh" label="pH" numeric defaultValue={lawn.waterPh} />
          <AmountField
            name="waterAlkalinity"
            label="Alkalinity"
            hint="From the water report. It, not the pH, sets how much acid is needed."
            units={unitChoices('alkalinity', system)}
            defaultValue={lawn.waterAlkalinityMgPerLCaCO3}
            defaultUnit="mg/L CaCO3"
          />
          <AmountField
            name="waterHardness"
            label="Hardness"
            hint={hardnessHint(lawn.waterHardnessMgPerLCaCO3 ?? null, system)}
            units={unitChoices('alkalinity', system)}
            defaultValue={lawn.waterHardnessMgPerLCaCO3}
            defaultUnit="mg/L CaCO3"
          />
          <Tick name="waterChlorinated" label="Chlorinated" defaultChecked={lawn.waterChlorinated} />
        </div>
      </fieldset>
      <Choose
        name="chartEdition"
        label="24-patch colour chart, if you lay one down"
        hint="Its published values changed in November 2014; the date stands on the chart’s back."
        defaultValue={lawn.chartEdition}
        choices={[
          { value: '2014', label: 'Made in November 2014 or later' },
          { value: '2005', label: 'Made earlier' },
        ]}
      />
      <TextArea name="note" label="Note" defaultValue={lawn.note} />
    </ActionForm>
  );
}

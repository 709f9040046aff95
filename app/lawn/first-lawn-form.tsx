import { ActionForm } from '@/app/_ui/action-form';
import { AmountField, Field } from '@/app/_ui/field';
import { unitChoices } from '@/app/_ui/unit-choices';
import type { UnitSystem } from '@/lib/units/display';
import { startLawn } from './actions';
import { PlaceField } from './place-field';
import { TimeZoneField } from './time-zone-field';
import { UnitSystemChoice } from './unit-system-choice';

/**
 * A new lawn on one screen: where it is, two plots side by side, and the sprayer. Everything but the first line can
 * wait.
 */
export function FirstLawnForm({ guess }: { guess: UnitSystem }) {
  return (
    <ActionForm action={startLawn} submit="Start this lawn" draftKey="lawn-new">
      <div className="fields">
        <Field name="name" label="Name" defaultValue="My lawn" required />
        <UnitSystemChoice defaultValue={guess} />
        <TimeZoneField />
        <PlaceField />
      </div>
      <fieldset>
        <legend>Two plots side by side, of one size</legend>
        <p className="soft">
          One is sprayed, the other stays as it is: the check. Only the difference between the two says what the spray
          did. More plots can come later.
        </p>
        <div className="fields">
          <AmountField name="length" label="Length of a plot" units={unitChoices('length', guess)} />
          <AmountField name="width" label="Width of a plot" units={unitChoices('length', guess)} />
          <Field name="checkName" label="Name of the check" defaultValue="Check" />
          <Field name="plotName" label="Name of the sprayed plot" defaultValue="A" />
        </div>
      </fieldset>
      <fieldset>
        <legend>Sprayer</legend>
        <div className="fields">
          <Field name="sprayerName" label="Sprayer" defaultValue="Backpack" />
          <AmountField name="tank" label="Tank" units={unitChoices('tank', guess)} />
          <AmountField
            name="carrier"
            label="Carrier volume"
            hint="Water it puts on the ground. Not known? Leave it; a catch test tells."
            units={unitChoices('carrier', guess)}
          />
        </div>
      </fieldset>
    </ActionForm>
  );
}

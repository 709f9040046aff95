import { ActionForm } from '@/app/_ui/action-form';
import { AmountField, Field } from '@/app/_ui/field';
import { unitChoices } from '@/app/_ui/unit-choices';
import type { Sprayer } from '@/lib/diary/sprayers';
import type { UnitSystem } from '@/lib/units/display';
import { fromM } from '@/lib/units/length';
import { fromM2 } from '@/lib/units/area';
import { fromMPerS } from '@/lib/units/speed';
import { fromL } from '@/lib/units/volume';
import { fieldDigits } from '@/lib/units/field-digits';
import { saveSprayer } from './actions';

const digits = (value: number | undefined) => (value === undefined ? undefined : fieldDigits(value));

export function SprayerForm({
  lawnId,
  sprayer,
  system,
}: {
  lawnId: string;
  sprayer: Sprayer | null;
  system: UnitSystem;
}) {
  const metric = system === 'metric';
  const caught = sprayer?.catchTestMl;
  return (
    <ActionForm
      action={saveSprayer.bind(null, lawnId, sprayer?.id ?? null)}
      submit={sprayer ? 'Save the sprayer' : 'Add this sprayer'}
    >
      <div className="fields">
        <Field name="name" label="Sprayer name" defaultValue={sprayer?.name} placeholder="Backpack" required />
        <AmountField
          name="tank"
          label="Tank"
          units={unitChoices('tank', system)}
          defaultValue={sprayer?.tankEnteredValue}
          defaultUnit={sprayer?.tankEnteredUnit}
        />
        <AmountField
          name="swath"
          label="Swath"
          hint="The width one pass covers."
          units={unitChoices('length', system)}
          defaultValue={digits(sprayer?.swathM == null ? undefined : fromM(sprayer.swathM, metric ? 'm' : 'ft').value)}
          defaultUnit={metric ? 'm' : 'ft'}
        />
        <AmountField
          name="walking"
          label="Walking speed"
          units={unitChoices('speed', system)}
          defaultValue={digits(
            sprayer?.walkingMPerS == null ? undefined : fromMPerS(sprayer.walkingMPerS, metric ? 'km/h' : 'mph').value,
          )}
          defaultUnit={metric ? 'km/h' : 'mph'}
        />
      </div>
      <fieldset>
        <legend>Catch test: what the sprayer puts down</legend>
        <p className="soft">
          Spray plain water over a measured area at your usual pace, then measure what it took (or catch the nozzle’s
          flow for the same time).
        </p>
        <div className="fields">
          <AmountField
            name="catchVolume"
            label="Water used"
            units={unitChoices('tank', system)}
            defaultValue={digits(caught == null ? undefined : fromL(caught / 1000, metric ? 'L' : 'us-fl-oz').value)}
            defaultUnit={metric ? 'L' : 'us-fl-oz'}
          />
          <AmountField
            name="catchArea"
            label="On an area of"
            units={unitChoices('area', system)}
            defaultValue={digits(
              sprayer?.catchTestAreaM2 == null
                ? undefined
                : fromM2(sprayer.catchTestAreaM2, metric ? 'm2' : 'ft2').value,
            )}
            defaultUnit={metric ? 'm2' : 'ft2'}
          />
          <AmountField
            name="carrier"
            label="Or carrier volume, if known"
            units={unitChoices('carrier', system)}
            defaultValue={sprayer?.carrierEnteredValue}
            defaultUnit={sprayer?.carrierEnteredUnit}
          />
        </div>
      </fieldset>
    </ActionForm>
  );
}

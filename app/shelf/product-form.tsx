import { ActionForm } from '@/app/_ui/action-form';
import { AmountField, Choose, Field, TextArea } from '@/app/_ui/field';
import { unitChoices } from '@/app/_ui/unit-choices';
import type { Product } from '@/lib/diary/products';
import { SHELF_ROLES } from '@/lib/spray/application';
import { MIXING_KINDS } from '@/lib/spray/mixing-order';
import { significant, type UnitSystem } from '@/lib/units/display';
import { SUBSTANCE_NAMES } from '@/lib/water/substances';
import { FormChoice } from './form-choice';
import { saveProduct } from './actions';

const analysis = [
  ['nAmmoniacalPercent', 'Ammoniacal N'],
  ['nNitratePercent', 'Nitrate N'],
  ['nUreaPercent', 'Urea N'],
  ['nOtherPercent', 'Other N'],
  ['p2o5Percent', 'Phosphate P₂O₅'],
  ['k2oPercent', 'Potash K₂O'],
  ['sPercent', 'Sulfur S'],
  ['fePercent', 'Iron Fe'],
  ['mnPercent', 'Manganese Mn'],
  ['mgPercent', 'Magnesium Mg'],
  ['znPercent', 'Zinc Zn'],
  ['caPercent', 'Calcium Ca'],
] as const;

/** Species offered by name; bleach is listed so that the checks can warn of it. */
const substances = [...SUBSTANCE_NAMES, 'sodium hypochlorite'];
const COMPOSITION_ROWS = 4;

export function ProductForm({ product, system }: { product: Product | null; system: UnitSystem }) {
  const rates = [...unitChoices('liquidRate', system), ...unitChoices('dryRate', system)];
  return (
    <ActionForm
      action={saveProduct.bind(null, product?.id ?? null)}
      submit={product ? 'Save the product' : 'Put it on the shelf'}
      draftKey={`product-${product?.id ?? 'new'}`}
    >
      <div className="fields">
        <Field name="name" label="Name" defaultValue={product?.name} required />
        <FormChoice
          defaultValue={product?.form}
          rateUnits={{
            liquid: unitChoices('liquidRate', system)[0]?.value ?? '',
            dry: unitChoices('dryRate', system)[0]?.value ?? '',
          }}
        />
        <Choose
          name="role"
          label="What it is for"
          defaultValue={product?.role ?? ''}
          choices={[
            ...(product ? [] : [{ value: '', label: 'Pick one' }]),
            ...SHELF_ROLES.map((role) => ({ value: role, label: role })),
          ]}
        />
        <Choose
          name="mixingKind"
          label="Kind of product"
          hint="Sets when it goes into the tank."
          defaultValue={product?.mixingKind ?? ''}
          choices={[
            { value: '', label: 'told from form and purpose' },
            ...MIXING_KINDS.map((kind) => ({ value: kind, label: kind })),
          ]}
        />
        <AmountField
          name="density"
          label="Density (liquids)"
          hint="The weight of a volume, or specific gravity, as printed. Turns volume into weight; needed for the nutrients of a liquid."
          units={unitChoices('density', system)}
          defaultValue={product?.densityKgPerL}
          defaultUnit={product?.densityKgPerL == null ? undefined : 'kg/L'}
        />
      </div>
      <fieldset>
        <legend>Guaranteed analysis, % by weight as printed</legend>
        <div className="fields" style={{ gridTemplateColumns: 'repeat(auto-fill, minmax(8rem, 1fr))' }}>
          <Field
            name="grade"
            label="Three numbers on the bag"
            placeholder="12-4-8"
            hint="N, P₂O₅, K₂O. The parts below can wait."
          />
          {analysis.map(([name, label]) => (
            <Field key={name} name={name} label={label} numeric defaultValue={product?.[name] || ''} />
          ))}
        </div>
      </fieldset>
      <fieldset>
        <legend>What the label allows</legend>
        <div className="fields">
          <AmountField
            name="labelRate"
            label="Usual rate"
            units={rates}
            defaultValue={product?.labelRateEnteredValue}
            defaultUnit={product?.labelRateEnteredUnit}
          />
          <AmountField
            name="labelMax"
            label="Most per application"
            units={rates}
            defaultValue={product?.labelMaxEnteredValue}
            defaultUnit={product?.labelMaxEnteredUnit}
          />
          <AmountField
            name="labelLeastCarrier"
            label="Least carrier volume"
            units={unitChoices('carrier', system)}
            defaultValue={product?.labelLeastCarrierEnteredValue}
            defaultUnit={product?.labelLeastCarrierEnteredUnit}
          />
          <AmountField
            name="labelLowestTemp"
            label="Not below"
            units={unitChoices('temperature', system)}
            defaultValue={product?.labelLowestTempEnteredValue}
            defaultUnit={product?.labelLowestTempEnteredUnit}
          />
          <AmountField
            name="labelHighestTemp"
            label="Not above"
            units={unitChoices('temperature', system)}
            defaultValue={product?.labelHighestTempEnteredValue}
            defaultUnit={product?.labelHighestTempEnteredUnit}
          />
          <Choose
            name="labelWatering"
            label="Watering after"
            defaultValue={product?.labelWatering ?? ''}
            choices={[
              { value: '', label: 'The label says nothing' },
              { value: 'water-in', label: 'Water it in' },
              { value: 'keep-dry', label: 'Don’t water it in' },
            ]}
          />
          <Field
            name="labelRainfastHours"
            label="Dry for, hours"
            hint="No rain or watering that long after."
            numeric
            defaultValue={product?.labelRainfastHours}
          />
          <Field
            name="labelReEntryHours"
            label="People and pets off for, hours"
            numeric
            defaultValue={product?.labelReEntryHours}
          />
          <Field
            name="labelMowingWaitDays"
            label="No mowing for, days"
            numeric
            defaultValue={product?.labelMowingWaitDays}
          />
          <Field
            name="minIntervalDays"
            label="Shortest interval, days"
            numeric
            defaultValue={product?.minIntervalDays}
          />
          <AmountField
            name="seasonCap"
            label="Most per season"
            units={rates}
            defaultValue={product?.seasonCapEnteredValue}
            defaultUnit={product?.seasonCapEnteredUnit}
          />
          <Field
            name="seasonMostApplications"
            label="Most applications a season"
            numeric
            defaultValue={product?.seasonMostApplications}
          />
          <Field
            name="registrationNumber"
            label="Registration number"
            hint="EPA or other; printed in the spray record."
            defaultValue={product?.registrationNumber}
          />
        </div>
      </fieldset>
      <fieldset>
        <legend>What it is made of, when known</legend>
        <p className="soft">
          Substances and their share by weight, from the safety data sheet. With it the pH of the mix can be worked out,
          and the dose of an acid; without it, never guessed.
        </p>
        <div className="fields">
          {Array.from({ length: Math.max(COMPOSITION_ROWS, (product?.composition?.length ?? 0) + 1) }, (_, place) => {
            const part = product?.composition?.[place];
            return (
              <div key={place} className="composition">
                <Field
                  name={`composition.${place}.substance`}
                  label={`Substance ${place + 1}`}
                  list={substances}
                  defaultValue={part?.species}
                />
                <Field
                  name={`composition.${place}.percent`}
                  label="Share, %"
                  numeric
                  defaultValue={part ? significant(part.massShare * 100, 6) : ''}
                />
              </div>
            );
          })}
        </div>
      </fieldset>
      <div className="fields">
        <Field name="priceAmount" label="Price" numeric defaultValue={product?.priceAmount} />
        <Field
          name="priceCurrency"
          label="Currency"
          defaultValue={product?.priceCurrency ?? (system === 'metric' ? 'EUR' : 'USD')}
        />
        <AmountField
          name="pricePer"
          label="For a pack of"
          units={unitChoices('pack', system)}
          defaultValue={product?.pricePerEnteredValue}
          defaultUnit={product?.pricePerEnteredUnit}
        />
      </div>
      <TextArea name="cautions" label="Cautions on the label, one a line" defaultValue={product?.cautions ?? ''} />
      <TextArea name="note" label="Note" defaultValue={product?.note ?? ''} />
    </ActionForm>
  );
}

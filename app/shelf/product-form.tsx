import { ActionForm } from '@/app/_ui/action-form';
import { AmountField, Choose, Field, TextArea } from '@/app/_ui/field';
import { unitChoices } from '@/app/_ui/unit-choices';
import type { Product } from '@/lib/diary/products';
import { productRoles } from '@/lib/forms/product-form';
import type { UnitSystem } from '@/lib/units/display';
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

export function ProductForm({ product, system }: { product: Product | null; system: UnitSystem }) {
  const rates = [...unitChoices('liquidRate', system), ...unitChoices('dryRate', system)];
  return (
    <ActionForm action={saveProduct.bind(null, product?.id ?? null)} submit={product ? 'Save the product' : 'Put it on the shelf'} draftKey={`product-${product?.id ?? 'new'}`}>
      <div className="fields">
        <Field name="name" label="Name" defaultValue={product?.name} required />
        <Choose
          name="form"
          label="Form"
          defaultValue={product?.form}
          choices={[
            { value: 'liquid', label: 'Liquid' },
            { value: 'dry', label: 'Dry (powder, crystals)' },
          ]}
        />
        <Choose name="role" label="What it is for" defaultValue={product?.role} choices={productRoles.map((role) => ({ value: role, label: role }))} />
        <AmountField
          name="density"
          label="Density (liquids)"
          hint="Printed as lb per gallon or specific gravity. Turns volume into weight."
          units={unitChoices('density', system)}
          defaultValue={product?.densityKgPerL}
          defaultUnit={product?.densityKgPerL == null ? undefined : 'kg/L'}
        />
      </div>
      <fieldset>
        <legend>Guaranteed analysis, % by weight as printed</legend>
        <div className="fields" style={{ gridTemplateColumns: 'repeat(auto-fill, minmax(8rem, 1fr))' }}>
          {analysis.map(([name, label]) => (
            <Field key={name} name={name} label={label} numeric defaultValue={product?.[name] || ''} />
          ))}
        </div>
      </fieldset>
      <fieldset>
        <legend>What the label allows</legend>
        <div className="fields">
          <AmountField name="labelRate" label="Usual rate" units={rates} defaultValue={product?.labelRateEnteredValue} defaultUnit={product?.labelRateEnteredUnit} />
          <AmountField name="labelMax" label="Most per application" units={rates} defaultValue={product?.labelMaxEnteredValue} defaultUnit={product?.labelMaxEnteredUnit} />
          <Field name="minIntervalDays" label="Shortest interval, days" numeric defaultValue={product?.minIntervalDays} />
          <AmountField name="seasonCap" label="Most per season" units={rates} defaultValue={product?.seasonCapEnteredValue} defaultUnit={product?.seasonCapEnteredUnit} />
        </div>
      </fieldset>
      <div className="fields">
        <Field name="priceAmount" label="Price" numeric defaultValue={product?.priceAmount} />
        <Field name="priceCurrency" label="Currency" defaultValue={product?.priceCurrency ?? (system === 'metric' ? 'EUR' : 'USD')} />
        <AmountField name="pricePer" label="For a pack of" units={unitChoices('pack', system)} defaultValue={product?.pricePerEnteredValue} defaultUnit={product?.pricePerEnteredUnit} />
      </div>
      <TextArea name="cautions" label="Cautions on the label" defaultValue={product?.cautions ?? ''} />
      <TextArea name="note" label="Note" defaultValue={product?.note ?? ''} />
    </ActionForm>
  );
}

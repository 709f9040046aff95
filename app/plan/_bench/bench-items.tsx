'use client';
import type { Choice } from '@/app/_ui/field';
import { acidOf, type PlanProduct } from '@/lib/plan/plan-product';
import type { SprayPlan } from '@/lib/plan/spray-plan';
import type { TypedItem } from '@/lib/plan/typed-plan';
import { NUTRIENT_BASES, shareOnBasis, analysisFault, type NutrientBasis } from '@/lib/spray/nutrients';
import { inOwnUnit, showDryRate, showLiquidRate, showTyped, type UnitSystem } from '@/lib/units/display';
import { nutrientLine } from './nutrients';
import { TypedAmountField, useFault } from './typed-field';

export interface ItemUnits {
  liquid: readonly Choice[];
  dry: readonly Choice[];
  nutrient: readonly Choice[];
}

export function emptyItem(units: ItemUnits): TypedItem {
  return {
    productId: '',
    by: 'rate',
    rate: { value: '', unit: units.liquid[0]?.value ?? '' },
    nutrient: { value: '', unit: units.nutrient[0]?.value ?? '' },
    basis: 'N',
  };
}

const basisNames: Partial<Record<NutrientBasis, string>> = { P2O5: 'P₂O₅', K2O: 'K₂O' };

function basesOf(product: PlanProduct): readonly NutrientBasis[] {
  if (analysisFault(product.analysis) !== null) return [];
  return NUTRIENT_BASES.filter((basis) => shareOnBasis(product.analysis, basis) > 0);
}

/** What a product was picked for is a good guess for what one wants to fix. */
function picked(
  item: TypedItem,
  product: PlanProduct | undefined,
  units: ItemUnits,
  hasTarget: boolean,
  system: UnitSystem,
): TypedItem {
  if (!product) return { ...item, productId: '', by: 'rate' };
  const list = product.form === 'dry' ? units.dry : units.liquid;
  const keepsRate = item.rate.value !== '' && item.productId !== '';
  const usual = product.usualRate && inOwnUnit(product.usualRate, system);
  const rate =
    usual && !keepsRate
      ? { value: String(usual.value), unit: usual.unit }
      : { value: item.rate.value, unit: list[0]?.value ?? '' };
  const bases = basesOf(product);
  return {
    ...item,
    productId: product.id,
    by: acidOf(product) !== null && product.mixingKind === 'acid' && hasTarget ? 'target-ph' : 'rate',
    rate,
    basis: bases.includes(item.basis as NutrientBasis) ? item.basis : (bases[0] ?? 'N'),
  };
}

/** One product of the mix: by its rate, by the nutrient it is to bring, or by the pH it is to reach. */
export function BenchItem({
  index,
  item,
  products,
  units,
  system,
  planned,
  hasTarget,
  onChange,
  onRemove,
}: {
  index: number;
  item: TypedItem;
  products: readonly PlanProduct[];
  units: ItemUnits;
  system: UnitSystem;
  planned: SprayPlan['items'][number] | undefined;
  hasTarget: boolean;
  onChange: (item: TypedItem) => void;
  onRemove: (() => void) | undefined;
}) {
  const at = `items.${index}`;
  const wrong = useFault(`${at}.productId`);
  const product = products.find((one) => one.id === item.productId);
  const bases = product ? basesOf(product) : [];
  const acid = product ? acidOf(product) !== null : false;
  const rateUnits = product?.form === 'dry' ? units.dry : [...units.liquid, ...units.dry];
  return (
    <div className="bench-item">
      <div className="fields">
        <div className="field">
          <label htmlFor={`${at}-product`}>Product {index + 1}</label>
          <select
            id={`${at}-product`}
            name={`${at}.productId`}
            value={item.productId}
            aria-invalid={wrong ? true : undefined}
            onChange={(event) =>
              onChange(
                picked(
                  item,
                  products.find((one) => one.id === event.target.value),
                  units,
                  hasTarget,
                  system,
                ),
              )
            }
          >
            <option value="">Pick from the shelf</option>
            {products.map((one) => (
              <option key={one.id} value={one.id}>
                {one.leftShelf ? `${one.name} (no longer on the shelf)` : one.name}
              </option>
            ))}
          </select>
          {wrong && <span className="wrong">{wrong}</span>}
        </div>
        <div className="field">
          <label htmlFor={`${at}-by`}>Set by</label>
          <select
            id={`${at}-by`}
            name={`${at}.by`}
            value={item.by}
            onChange={(event) => onChange({ ...item, by: event.target.value })}
          >
            <option value="rate">its rate</option>
            {(bases.length > 0 || item.by === 'nutrient') && <option value="nutrient">the nutrient it brings</option>}
            {(acid || item.by === 'target-ph') && <option value="target-ph">the target pH</option>}
          </select>
        </div>
        {item.by === 'rate' && (
          <TypedAmountField
            name={`${at}.rate`}
            label="Rate"
            units={rateUnits}
            value={item.rate}
            onChange={(rate) => onChange({ ...item, rate })}
          />
        )}
        {item.by === 'nutrient' && (
          <>
            <div className="field">
              <label htmlFor={`${at}-basis`}>Nutrient</label>
              <select
                id={`${at}-basis`}
                name={`${at}.basis`}
                value={item.basis}
                onChange={(event) => onChange({ ...item, basis: event.target.value })}
              >
                {(bases.length > 0 ? bases : [item.basis as NutrientBasis]).map((basis) => (
                  <option key={basis} value={basis}>
                    {basisNames[basis] ?? basis}
                  </option>
                ))}
              </select>
            </div>
            <TypedAmountField
              name={`${at}.nutrient`}
              label="Nutrient rate"
              units={units.nutrient}
              value={item.nutrient}
              onChange={(nutrient) => onChange({ ...item, nutrient })}
            />
          </>
        )}
      </div>
      {/* What isn't shown is still sent, so that switching back finds it. */}
      {item.by !== 'rate' && <HiddenAmount name={`${at}.rate`} amount={item.rate} />}
      {item.by !== 'nutrient' && (
        <>
          <HiddenAmount name={`${at}.nutrient`} amount={item.nutrient} />
          <input type="hidden" name={`${at}.basis`} value={item.basis} />
        </>
      )}
      <div className="row row-end">
        <p className="soft" aria-live="polite">
          {planned && <PlannedLine planned={planned} usual={product?.usualRate ?? null} system={system} />}
        </p>
        {onRemove && (
          <button type="button" className="button-warn" onClick={onRemove} aria-label={`Remove product ${index + 1}`}>
            Remove
          </button>
        )}
      </div>
    </div>
  );
}

function HiddenAmount({ name, amount }: { name: string; amount: { value: string; unit: string } }) {
  return (
    <>
      <input type="hidden" name={`${name}.value`} value={amount.value} />
      <input type="hidden" name={`${name}.unit`} value={amount.unit} />
    </>
  );
}

/** The other way round, at once: product from nutrient, nutrient from product. */
function PlannedLine({
  planned,
  usual,
  system,
}: {
  planned: SprayPlan['items'][number];
  usual: PlanProduct['usualRate'];
  system: UnitSystem;
}) {
  const { massKgPerHa, volumeLPerHa } = planned.dose;
  const rate =
    planned.form === 'liquid' && volumeLPerHa !== null
      ? showLiquidRate(volumeLPerHa, system).text
      : massKgPerHa === null
        ? ''
        : showDryRate(massKgPerHa, system).text;
  return (
    <>
      = {rate} of product
      {planned.nutrientsKgPerHa !== null && `, brings ${nutrientLine(planned.nutrientsKgPerHa, system)}`}
      {usual && ` · label’s usual rate ${showTyped(usual, system).text}`}
    </>
  );
}

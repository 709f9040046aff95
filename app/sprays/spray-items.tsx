'use client';
import { useState } from 'react';
import { useDraft, useFieldError } from '@/app/_ui/action-form';
import { draftRows } from '@/app/_ui/draft';
import { unitLabel } from '@/lib/units/display';
import type { Choice } from '@/app/_ui/field';
import type { ItemStart, ShelfProduct } from '@/app/_ui/shelf-item';

/** The products in a spray, each with its rate; rows are added and taken away, and typed rates stay. */
export function SprayItems({
  products,
  liquidUnits,
  dryUnits,
  nitrogenUnit,
  start,
}: {
  products: ShelfProduct[];
  liquidUnits: Choice[];
  dryUnits: Choice[];
  /** How a rate is told by the nitrogen it brings. */ nitrogenUnit: Choice;
  start: ItemStart[];
}) {
  const typed = draftRows(useDraft(), 'items').map((row): ItemStart => ({
    productId: row.get('productId') ?? '',
    value: row.get('rate.value') ?? '',
    unit: row.get('rate.unit') ?? '',
  }));
  const [rows, setRows] = useState(() =>
    (typed.length > 0 ? typed : start.length > 0 ? start : [{ productId: '', value: '', unit: '' }]).map(
      (row, key) => ({ ...row, key }),
    ),
  );
  const wrong = useFieldError('items');
  const change = (key: number, part: Partial<ItemStart>) =>
    setRows((all) => all.map((row) => (row.key === key ? { ...row, ...part } : row)));
  return (
    <fieldset>
      <legend>Products and rates</legend>
      {wrong && <p className="wrong">{wrong}</p>}
      {rows.map((row, index) => (
        <ItemRow
          key={row.key}
          index={index}
          row={row}
          products={products}
          liquidUnits={liquidUnits}
          dryUnits={dryUnits}
          nitrogenUnit={nitrogenUnit}
          onChange={(part) => change(row.key, part)}
          onRemove={rows.length > 1 ? () => setRows((all) => all.filter((entry) => entry.key !== row.key)) : undefined}
        />
      ))}
      <button
        type="button"
        onClick={() =>
          setRows((all) => [
            ...all,
            { productId: '', value: '', unit: '', key: Math.max(...all.map((row) => row.key)) + 1 },
          ])
        }
      >
        Another product
      </button>
    </fieldset>
  );
}

function ItemRow({
  index,
  row,
  products,
  liquidUnits,
  dryUnits,
  nitrogenUnit,
  onChange,
  onRemove,
}: {
  index: number;
  row: ItemStart;
  products: ShelfProduct[];
  liquidUnits: Choice[];
  dryUnits: Choice[];
  nitrogenUnit: Choice;
  onChange: (part: Partial<ItemStart>) => void;
  onRemove: (() => void) | undefined;
}) {
  const productWrong = useFieldError(`items.${index}.productId`);
  const rateWrong = useFieldError(`items.${index}.rate`);
  const product = products.find((candidate) => candidate.id === row.productId);
  const rates = product?.form === 'dry' ? dryUnits : [...liquidUnits, ...dryUnits];
  const units = product?.bringsNitrogen ? [...rates, nitrogenUnit] : rates;
  return (
    <div className="fields" style={{ marginBottom: '0.75rem', alignItems: 'end' }}>
      <div className="field">
        <label htmlFor={`item-${index}`}>Product {index + 1}</label>
        <select
          id={`item-${index}`}
          name={`items.${index}.productId`}
          value={row.productId}
          aria-invalid={productWrong ? true : undefined}
          onChange={(event) => {
            const picked = products.find((candidate) => candidate.id === event.target.value);
            onChange({
              productId: event.target.value,
              ...(row.value === '' && picked?.usualValue != null
                ? { value: String(picked.usualValue), unit: picked.usualUnit ?? '' }
                : { unit: '' }),
            });
          }}
        >
          <option value="">Pick from the shelf</option>
          {products.map((entry) => (
            <option key={entry.id} value={entry.id}>
              {entry.name}
            </option>
          ))}
        </select>
        {productWrong && <span className="wrong">{productWrong}</span>}
      </div>
      <div className="field">
        <label htmlFor={`rate-${index}`}>Rate</label>
        <div className="amount">
          <input
            id={`rate-${index}`}
            name={`items.${index}.rate.value`}
            inputMode="decimal"
            autoComplete="off"
            value={row.value}
            aria-invalid={rateWrong ? true : undefined}
            onChange={(event) => onChange({ value: event.target.value })}
          />
          <select
            name={`items.${index}.rate.unit`}
            aria-label={`Rate ${index + 1}: unit`}
            value={row.unit || units[0]?.value}
            onChange={(event) => onChange({ unit: event.target.value })}
          >
            {row.unit && !units.some((unit) => unit.value === row.unit) && (
              <option value={row.unit}>{unitLabel(row.unit)}</option>
            )}
            {units.map((unit) => (
              <option key={unit.value} value={unit.value}>
                {unit.label}
              </option>
            ))}
          </select>
          {onRemove && (
            <button type="button" className="button-warn" onClick={onRemove} aria-label={`Remove product ${index + 1}`}>
              ×
            </button>
          )}
        </div>
        {rateWrong && <span className="wrong">{rateWrong}</span>}
      </div>
    </div>
  );
}

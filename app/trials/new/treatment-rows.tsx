'use client';
import { useFieldError } from '@/app/_ui/action-form';
import type { Choice } from '@/app/_ui/field';
import type { ItemStart, ShelfProduct } from '@/app/_ui/shelf-item';

export interface TreatmentStart {
  name: string;
  isCheck: boolean;
  onSubplots: boolean;
  items: ItemStart[];
}

interface Shelf {
  products: ShelfProduct[];
  liquidUnits: Choice[];
  dryUnits: Choice[];
  defaultRateUnit: string;
}

/** The treatments of a trial: each a mix of products from the shelf, or the unsprayed check. */
export function TreatmentRows({
  rows,
  split,
  onChange,
  ...shelf
}: Shelf & { rows: TreatmentStart[]; split: boolean; onChange: (rows: TreatmentStart[]) => void }) {
  const change = (index: number, part: Partial<TreatmentStart>) =>
    onChange(
      rows.map((row, at) => (at === index ? { ...row, ...part } : part.isCheck ? { ...row, isCheck: false } : row)),
    );
  return (
    <>
      {rows.map((row, index) => (
        <TreatmentRow
          key={index}
          index={index}
          row={row}
          split={split}
          shelf={shelf}
          onChange={(part) => change(index, part)}
          onRemove={rows.length > 2 ? () => onChange(rows.filter((_, at) => at !== index)) : undefined}
        />
      ))}
      <button
        type="button"
        onClick={() =>
          onChange([
            ...rows,
            { name: '', isCheck: false, onSubplots: false, items: [{ productId: '', value: '', unit: '' }] },
          ])
        }
      >
        Another treatment
      </button>
    </>
  );
}

function TreatmentRow({
  index,
  row,
  split,
  shelf,
  onChange,
  onRemove,
}: {
  index: number;
  row: TreatmentStart;
  split: boolean;
  shelf: Shelf;
  onChange: (part: Partial<TreatmentStart>) => void;
  onRemove: (() => void) | undefined;
}) {
  const wrong = useFieldError(`treatments.${index}.name`);
  const base = `treatments.${index}`;
  const changeItem = (at: number, part: Partial<ItemStart>) =>
    onChange({ items: row.items.map((item, place) => (place === at ? { ...item, ...part } : item)) });
  return (
    <div className="treatment-row" role="group" aria-label={`Treatment ${index + 1}`}>
      <div className="fields">
        <div className="field">
          <label htmlFor={`${base}-name`}>{`Treatment ${index + 1}`}</label>
          <input
            id={`${base}-name`}
            name={`${base}.name`}
            value={row.name}
            autoComplete="off"
            aria-invalid={wrong ? true : undefined}
            onChange={(event) => onChange({ name: event.target.value })}
          />
          {wrong && <span className="wrong">{wrong}</span>}
        </div>
        <div className="row">
          <label className="tick">
            <input
              type="checkbox"
              name={`${base}.isCheck`}
              value="yes"
              checked={row.isCheck}
              onChange={(event) => onChange({ isCheck: event.target.checked })}
            />
            <span>The check, unsprayed</span>
          </label>
          {split && (
            <label className="tick">
              <input
                type="checkbox"
                name={`${base}.onSubplots`}
                value="yes"
                checked={row.onSubplots}
                onChange={(event) => onChange({ onSubplots: event.target.checked })}
              />
              <span>Second factor</span>
            </label>
          )}
          {onRemove && (
            <button
              type="button"
              className="button-warn"
              onClick={onRemove}
              aria-label={`Remove treatment ${index + 1}`}
            >
              Remove
            </button>
          )}
        </div>
      </div>
      {!row.isCheck && (
        <>
          {row.items.map((item, place) => (
            <ItemRow
              key={place}
              treatment={index + 1}
              name={`${base}.items.${place}`}
              place={place}
              item={item}
              shelf={shelf}
              onChange={(part) => changeItem(place, part)}
            />
          ))}
          <button
            type="button"
            onClick={() => onChange({ items: [...row.items, { productId: '', value: '', unit: '' }] })}
          >
            Add a product to treatment {index + 1}
          </button>
        </>
      )}
    </div>
  );
}

function ItemRow({
  treatment,
  name,
  place,
  item,
  shelf,
  onChange,
}: {
  treatment: number;
  name: string;
  place: number;
  item: ItemStart;
  shelf: Shelf;
  onChange: (part: Partial<ItemStart>) => void;
}) {
  const wrongProduct = useFieldError(`${name}.productId`);
  const wrongRate = useFieldError(`${name}.rate`);
  const product = shelf.products.find((candidate) => candidate.id === item.productId);
  const units = product?.form === 'dry' ? shelf.dryUnits : [...shelf.liquidUnits, ...shelf.dryUnits];
  return (
    <div className="fields item-row">
      <div className="field">
        <label htmlFor={`${name}-product`}>{`Product ${place + 1} of treatment ${treatment}`}</label>
        <select
          id={`${name}-product`}
          name={`${name}.productId`}
          value={item.productId}
          aria-invalid={wrongProduct ? true : undefined}
          onChange={(event) => {
            const picked = shelf.products.find((candidate) => candidate.id === event.target.value);
            onChange({
              productId: event.target.value,
              ...(item.value === '' && picked?.usualValue != null
                ? { value: String(picked.usualValue), unit: picked.usualUnit ?? '' }
                : {}),
            });
          }}
        >
          <option value="">Pick from the shelf</option>
          {shelf.products.map((entry) => (
            <option key={entry.id} value={entry.id}>
              {entry.name}
            </option>
          ))}
        </select>
        {wrongProduct && <span className="wrong">{wrongProduct}</span>}
      </div>
      <div className="field">
        <label htmlFor={`${name}-rate`}>{`Rate ${place + 1} of treatment ${treatment}`}</label>
        <div className="amount">
          <input
            id={`${name}-rate`}
            name={`${name}.rate.value`}
            inputMode="decimal"
            autoComplete="off"
            value={item.value}
            aria-invalid={wrongRate ? true : undefined}
            onChange={(event) => onChange({ value: event.target.value })}
          />
          <select
            name={`${name}.rate.unit`}
            aria-label={`Rate ${place + 1} of treatment ${treatment}: unit`}
            value={item.unit || units[0]?.value || shelf.defaultRateUnit}
            onChange={(event) => onChange({ unit: event.target.value })}
          >
            {item.unit && !units.some((unit) => unit.value === item.unit) && (
              <option value={item.unit}>{item.unit}</option>
            )}
            {units.map((unit) => (
              <option key={unit.value} value={unit.value}>
                {unit.label}
              </option>
            ))}
          </select>
        </div>
        {wrongRate && <span className="wrong">{wrongRate}</span>}
      </div>
    </div>
  );
}

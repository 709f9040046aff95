'use client';
import { useFieldError } from '@/app/_ui/action-form';
import type { Choice } from '@/app/_ui/field';

/** A text input for a number; with `amountUnit` it posts `name.value` and `name.unit`. */
export function Typed({
  name,
  label,
  value,
  onChange,
  hint,
  amountUnit,
  readOnly,
}: {
  name: string;
  label: string;
  value?: string;
  onChange?: (typed: string) => void;
  hint?: string;
  amountUnit?: string;
  readOnly?: boolean;
}) {
  const wrong = useFieldError(name);
  const input = onChange
    ? { value: value ?? '', onChange: (event: React.ChangeEvent<HTMLInputElement>) => onChange(event.target.value) }
    : { defaultValue: '' };
  return (
    <div className="field">
      <label htmlFor={`trial-${name}`}>{label}</label>
      <input
        id={`trial-${name}`}
        name={amountUnit ? `${name}.value` : name}
        inputMode="decimal"
        autoComplete="off"
        readOnly={readOnly}
        aria-invalid={wrong ? true : undefined}
        aria-describedby={wrong || hint ? `trial-${name}-note` : undefined}
        {...input}
      />
      {amountUnit && <input type="hidden" name={`${name}.unit`} value={amountUnit} />}
      {(wrong || hint) && (
        <span id={`trial-${name}-note`} className={wrong ? 'wrong' : 'hint'}>
          {wrong ?? hint}
        </span>
      )}
    </div>
  );
}

export function CarrierField({ units }: { units: Choice[] }) {
  const wrong = useFieldError('carrier');
  return (
    <div className="field">
      <label htmlFor="trial-carrier">Carrier volume for all treatments</label>
      <div className="amount">
        <input
          id="trial-carrier"
          name="carrier.value"
          inputMode="decimal"
          autoComplete="off"
          aria-invalid={wrong ? true : undefined}
        />
        <select name="carrier.unit" aria-label="Carrier volume: unit">
          {units.map((one) => (
            <option key={one.value} value={one.value}>
              {one.label}
            </option>
          ))}
        </select>
      </div>
      <span className={wrong ? 'wrong' : 'hint'}>{wrong ?? 'Empty: the sprayer’s catch test counts.'}</span>
    </div>
  );
}

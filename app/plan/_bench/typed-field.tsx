'use client';
import { createContext, useContext, useId, type ReactNode } from 'react';
import { useFieldError } from '@/app/_ui/action-form';
import type { Choice } from '@/app/_ui/field';
import type { FieldFault, TypedAmount } from '@/lib/plan/typed-plan';

/** What is off right now, by field: the page reads along while one types. */
export const Faults = createContext<ReadonlyMap<string, FieldFault>>(new Map());

/** A wrong entry speaks at once; a missing one only after the plan was sent. */
export function useFault(name: string): string | undefined {
  const fault = useContext(Faults).get(name);
  const sent = useFieldError(name);
  if (fault?.kind === 'wrong') return fault.sentence;
  return sent === undefined ? undefined : fault?.sentence;
}

function useNotes(name: string, hint: ReactNode) {
  const id = useId();
  const wrong = useFault(name);
  const describedBy = [hint ? `${id}-hint` : '', wrong ? `${id}-wrong` : ''].filter(Boolean).join(' ');
  return {
    id,
    aria: {
      ...(describedBy ? { 'aria-describedby': describedBy } : {}),
      ...(wrong ? { 'aria-invalid': true as const } : {}),
    },
    notes: (
      <>
        {hint && (
          <span className="hint" id={`${id}-hint`}>
            {hint}
          </span>
        )}
        {wrong && (
          <span className="wrong" id={`${id}-wrong`}>
            {wrong}
          </span>
        )}
      </>
    ),
  };
}

/** A labelled input whose text lives with the plan. */
export function TypedField({
  name,
  label,
  hint,
  value,
  onChange,
  type = 'text',
}: {
  name: string;
  label: string;
  hint?: ReactNode;
  value: string;
  onChange: (value: string) => void;
  type?: 'text' | 'datetime-local';
}) {
  const { id, aria, notes } = useNotes(name, hint);
  return (
    <div className="field">
      <label htmlFor={id}>{label}</label>
      <input
        id={id}
        name={name}
        type={type}
        inputMode={type === 'text' ? 'decimal' : undefined}
        autoComplete="off"
        value={value}
        onChange={(event) => onChange(event.target.value)}
        {...aria}
      />
      {notes}
    </div>
  );
}

/** A number with its unit, both living with the plan. */
export function TypedAmountField({
  name,
  label,
  hint,
  units,
  value,
  onChange,
}: {
  name: string;
  label: string;
  hint?: ReactNode;
  units: readonly Choice[];
  value: TypedAmount;
  onChange: (value: TypedAmount) => void;
}) {
  const { id, aria, notes } = useNotes(name, hint);
  const listed = units.some((unit) => unit.value === value.unit);
  return (
    <div className="field">
      <label htmlFor={id}>{label}</label>
      <div className="amount" data-as-typed={value.value.trim() === '' ? undefined : ''}>
        <input
          id={id}
          name={`${name}.value`}
          inputMode="decimal"
          autoComplete="off"
          value={value.value}
          onChange={(event) => onChange({ ...value, value: event.target.value })}
          {...aria}
        />
        <select
          name={`${name}.unit`}
          aria-label={`${label}: unit`}
          value={value.unit}
          onChange={(event) => onChange({ ...value, unit: event.target.value })}
        >
          {!listed && <option value={value.unit}>{value.unit}</option>}
          {units.map((unit) => (
            <option key={unit.value} value={unit.value}>
              {unit.label}
            </option>
          ))}
        </select>
      </div>
      {notes}
    </div>
  );
}

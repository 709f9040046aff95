'use client';
import { useId, type ReactNode } from 'react';
import { useFieldError } from './action-form';

function useDescription(name: string, hint: ReactNode) {
  const id = useId();
  const error = useFieldError(name);
  const describedBy = [hint ? `${id}-hint` : '', error ? `${id}-wrong` : ''].filter(Boolean).join(' ');
  const notes = (
    <>
      {hint && (
        <span className="hint" id={`${id}-hint`}>
          {hint}
        </span>
      )}
      {error && (
        <span className="wrong" id={`${id}-wrong`}>
          {error}
        </span>
      )}
    </>
  );
  const aria = {
    ...(describedBy ? { 'aria-describedby': describedBy } : {}),
    ...(error ? { 'aria-invalid': true as const } : {}),
  };
  return { id, notes, aria };
}

type Text = {
  name: string;
  label: string;
  hint?: ReactNode;
  type?: 'text' | 'date' | 'datetime-local' | 'password' | 'email' | 'search';
  defaultValue?: string | number | null | undefined;
  placeholder?: string;
  numeric?: boolean;
  required?: boolean;
  list?: readonly string[];
};

/** A labelled text, number or date input with its hint and its error sentence. */
export function Field({ name, label, hint, type = 'text', defaultValue, placeholder, numeric, required, list }: Text) {
  const { id, notes, aria } = useDescription(name, hint);
  return (
    <div className="field">
      <label htmlFor={id}>{label}</label>
      <input
        id={id}
        name={name}
        type={type}
        defaultValue={defaultValue ?? ''}
        placeholder={placeholder}
        inputMode={numeric ? 'decimal' : undefined}
        autoComplete="off"
        required={required}
        {...(list ? { list: `${id}-list` } : {})}
        {...aria}
      />
      {list && (
        <datalist id={`${id}-list`}>
          {list.map((entry) => (
            <option key={entry} value={entry} />
          ))}
        </datalist>
      )}
      {notes}
    </div>
  );
}

export type Choice = { value: string; label: string };

export function Choose({
  name,
  label,
  hint,
  choices,
  defaultValue,
}: {
  name: string;
  label: string;
  hint?: ReactNode;
  choices: readonly Choice[];
  defaultValue?: string | null | undefined;
}) {
  const { id, notes, aria } = useDescription(name, hint);
  return (
    <div className="field">
      <label htmlFor={id}>{label}</label>
      <select id={id} name={name} defaultValue={defaultValue ?? choices[0]?.value} {...aria}>
        {choices.map((choice) => (
          <option key={choice.value} value={choice.value}>
            {choice.label}
          </option>
        ))}
      </select>
      {notes}
    </div>
  );
}

/** A number with its unit: two inputs, `name.value` and `name.unit`. What is typed is kept as typed. */
export function AmountField({
  name,
  label,
  hint,
  units,
  defaultValue,
  defaultUnit,
}: {
  name: string;
  label: string;
  hint?: ReactNode;
  units: readonly Choice[];
  defaultValue?: number | string | null | undefined;
  defaultUnit?: string | null | undefined;
}) {
  const { id, notes, aria } = useDescription(name, hint);
  return (
    <div className="field">
      <label htmlFor={id}>{label}</label>
      <div className="amount" data-as-typed={defaultValue == null ? undefined : ''}>
        <input
          id={id}
          name={`${name}.value`}
          inputMode="decimal"
          autoComplete="off"
          defaultValue={defaultValue ?? ''}
          {...aria}
        />
        <select name={`${name}.unit`} aria-label={`${label}: unit`} defaultValue={defaultUnit ?? units[0]?.value}>
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

export function TextArea({
  name,
  label,
  hint,
  defaultValue,
}: {
  name: string;
  label: string;
  hint?: ReactNode;
  defaultValue?: string | null;
}) {
  const { id, notes, aria } = useDescription(name, hint);
  return (
    <div className="field">
      <label htmlFor={id}>{label}</label>
      <textarea id={id} name={name} rows={3} defaultValue={defaultValue ?? ''} {...aria} />
      {notes}
    </div>
  );
}

export function Tick({
  name,
  label,
  value = 'yes',
  defaultChecked,
}: {
  name: string;
  label: ReactNode;
  value?: string;
  defaultChecked?: boolean;
}) {
  return (
    <label className="tick">
      <input type="checkbox" name={name} value={value} defaultChecked={defaultChecked} />
      <span>{label}</span>
    </label>
  );
}

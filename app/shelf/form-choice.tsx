'use client';
import { useRef } from 'react';
import { Choose } from '@/app/_ui/field';

const RATES = ['labelRate', 'labelMax', 'seasonCap'] as const;

/** Liquid or dry; rates nobody has typed yet turn to the units of that form, so that a weight isn't entered as a volume. */
export function FormChoice({ defaultValue, rateUnits }: { defaultValue: string | undefined; rateUnits: Readonly<Record<'liquid' | 'dry', string>> }) {
  const hold = useRef<HTMLDivElement>(null);
  const follow = (form: 'liquid' | 'dry') => {
    const fields = hold.current?.closest('form')?.elements;
    for (const name of RATES) {
      const [value, unit] = [fields?.namedItem(`${name}.value`), fields?.namedItem(`${name}.unit`)];
      if (value instanceof HTMLInputElement && unit instanceof HTMLSelectElement && value.value === '') unit.value = rateUnits[form];
    }
  };
  return (
    <div ref={hold} onChange={(event) => event.target instanceof HTMLSelectElement && follow(event.target.value === 'dry' ? 'dry' : 'liquid')}>
      <Choose
        name="form"
        label="Form"
        defaultValue={defaultValue}
        choices={[
          { value: 'liquid', label: 'Liquid' },
          { value: 'dry', label: 'Dry (powder, crystals)' },
        ]}
      />
    </div>
  );
}

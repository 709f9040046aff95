'use client';
import { useRef } from 'react';
import { Choose } from '@/app/_ui/field';
import { turnUnits } from '@/app/_ui/turn-units';

const RATES = ['labelRate', 'labelMax', 'seasonCap'] as const;

/**
 * Liquid or dry; rates nobody has typed yet turn to the units of that form, so that a weight isn't entered as a volume.
 */
export function FormChoice({
  defaultValue,
  rateUnits,
}: {
  defaultValue: string | undefined;
  rateUnits: Readonly<Record<'liquid' | 'dry', string>>;
}) {
  const hold = useRef<HTMLDivElement>(null);
  const follow = (form: 'liquid' | 'dry') =>
    turnUnits(hold.current?.closest('form'), Object.fromEntries(RATES.map((name) => [name, rateUnits[form]])));
  return (
    <div
      ref={hold}
      onChange={(event) =>
        event.target instanceof HTMLSelectElement && follow(event.target.value === 'dry' ? 'dry' : 'liquid')
      }
    >
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

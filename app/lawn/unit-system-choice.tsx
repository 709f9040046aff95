'use client';
import { useRef } from 'react';
import { Choose } from '@/app/_ui/field';
import { unitChoices } from '@/app/_ui/unit-choices';
import type { UnitSystem } from '@/lib/units/display';

/** Fields of the lawn's form whose unit follows the system as long as nothing is typed in them. */
const FOLLOWING = { elevation: 'length', mowingHeight: 'mowing', length: 'length', width: 'length', tank: 'tank', carrier: 'carrier' } as const;

/** Which units the reader thinks in; empty amounts of the same form turn to them at once. */
export function UnitSystemChoice({ defaultValue }: { defaultValue: UnitSystem }) {
  const hold = useRef<HTMLDivElement>(null);
  const follow = (system: UnitSystem) => {
    const fields = hold.current?.closest('form')?.elements;
    for (const [name, purpose] of Object.entries(FOLLOWING)) {
      const [value, unit] = [fields?.namedItem(`${name}.value`), fields?.namedItem(`${name}.unit`)];
      if (value instanceof HTMLInputElement && unit instanceof HTMLSelectElement && value.value === '') unit.value = unitChoices(purpose, system)[0]?.value ?? unit.value;
    }
  };
  return (
    <div
      ref={hold}
      onChange={(event) => {
        if (event.target instanceof HTMLSelectElement) follow(event.target.value === 'metric' ? 'metric' : 'us-customary');
      }}
    >
      <Choose
        name="unitSystem"
        label="Units on screen"
        defaultValue={defaultValue}
        choices={[
          { value: 'us-customary', label: 'US customary (ft², gal, oz)' },
          { value: 'metric', label: 'Metric (m², L, g)' },
        ]}
      />
    </div>
  );
}

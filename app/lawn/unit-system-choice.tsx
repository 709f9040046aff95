'use client';
import { useRef } from 'react';
import { Choose } from '@/app/_ui/field';
import { turnUnits } from '@/app/_ui/turn-units';
import { unitChoices } from '@/app/_ui/unit-choices';
import type { UnitSystem } from '@/lib/units/display';

/** Fields of the lawn's form whose unit follows the system as long as nothing is typed in them. */
const FOLLOWING = {
  elevation: 'length',
  mowingHeight: 'mowing',
  length: 'length',
  width: 'length',
  tank: 'tank',
  carrier: 'carrier',
} as const;

/** Which units the reader thinks in; empty amounts of the same form turn to them at once. */
export function UnitSystemChoice({ defaultValue }: { defaultValue: UnitSystem }) {
  const hold = useRef<HTMLDivElement>(null);
  const follow = (system: UnitSystem) =>
    turnUnits(
      hold.current?.closest('form'),
      Object.fromEntries(
        Object.entries(FOLLOWING).map(([name, purpose]) => [name, unitChoices(purpose, system)[0]?.value]),
      ),
    );
  return (
    <div
      ref={hold}
      onChange={(event) => {
        if (event.target instanceof HTMLSelectElement)
          follow(event.target.value === 'metric' ? 'metric' : 'us-customary');
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

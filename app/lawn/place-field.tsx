'use client';
import { HOUR_MS } from '@/lib/units/time';
import { useRef, useState } from 'react';
import { Field } from '@/app/_ui/field';

/** Where the lawn lies, in words or coordinates, or as this device knows it. Nothing is looked up elsewhere. */
export function PlaceField() {
  const hold = useRef<HTMLDivElement>(null);
  const [said, setSaid] = useState('');
  const ask = () => {
    setSaid('Asking the device …');
    navigator.geolocation.getCurrentPosition(
      ({ coords }) => {
        const input = hold.current?.querySelector('input');
        // A hundredth of a degree is a kilometre: enough for the sun, and no more than that is kept.
        if (input) input.value = `${coords.latitude.toFixed(2)}, ${coords.longitude.toFixed(2)}`;
        setSaid('');
      },
      () => setSaid('The device did not say. Type the two numbers a map shows, or leave it.'),
      { maximumAge: HOUR_MS, timeout: 10_000 },
    );
  };
  return (
    <div ref={hold}>
      <Field
        name="place"
        label="Where it lies"
        placeholder="41.9, -87.6"
        hint="Coordinates as a map shows them give the sun’s height; words are for your own reading."
      />
      <button type="button" className="button-plain" onClick={ask}>
        Use this device’s position
      </button>
      <span role="status" className="hint">
        {said}
      </span>
    </div>
  );
}

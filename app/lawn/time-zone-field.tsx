'use client';
import { useEffect, useState } from 'react';
import { Field } from '@/app/_ui/field';

/** The lawn's time zone, the browser's own to begin with. */
export function TimeZoneField({ defaultValue }: { defaultValue?: string | undefined }) {
  const [guess, setGuess] = useState(defaultValue ?? '');
  const [zones, setZones] = useState<string[]>([]);
  useEffect(() => {
    setZones(Intl.supportedValuesOf('timeZone'));
    if (!defaultValue) setGuess(Intl.DateTimeFormat().resolvedOptions().timeZone);
  }, [defaultValue]);
  return (
    <Field
      key={guess}
      name="timeZone"
      label="Time zone"
      list={zones}
      defaultValue={guess}
      hint="For photos whose camera wrote no offset, and for the times you type."
    />
  );
}

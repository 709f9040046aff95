'use client';
import { useSyncExternalStore } from 'react';
import { Field } from '@/app/_ui/field';

const never = () => () => {};
const browserZone = () => Intl.DateTimeFormat().resolvedOptions().timeZone;
let known: string[] | undefined;
const none: string[] = [];
const allZones = () => (known ??= Intl.supportedValuesOf('timeZone'));

/** The lawn's time zone, the browser's own to begin with. */
export function TimeZoneField({ defaultValue }: { defaultValue?: string | undefined }) {
  const guess = useSyncExternalStore(never, browserZone, () => '');
  const zones = useSyncExternalStore(never, allZones, () => none);
  const start = defaultValue ?? guess;
  return (
    <Field
      key={start}
      name="timeZone"
      label="Time zone"
      list={zones}
      defaultValue={start}
      hint="For photos whose camera wrote no offset, and for the times you type."
    />
  );
}

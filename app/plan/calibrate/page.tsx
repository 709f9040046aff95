import type { Metadata } from 'next';
import Link from 'next/link';
import { currentLawn } from '@/app/_ui/current-lawn';
import { unitChoices } from '@/app/_ui/unit-choices';
import { Calibrate } from './calibrate';

export const metadata: Metadata = { title: 'Calibrate a sprayer' };

export default async function CalibratePage() {
  const system = (await currentLawn())?.unitSystem ?? 'us-customary';
  return (
    <>
      <h1>Calibrate a sprayer</h1>
      <p>
        The carrier volume is what your sprayer puts down at your pace. Every amount in a plan rests on it. Use plain water, the nozzle and pressure you spray with, and walk as you do on the lawn.
      </p>
      <Calibrate system={system} lengths={unitChoices('length', system)} volumes={unitChoices('tank', system)} areas={unitChoices('area', system)} />
      <p>
        Enter what you found under <Link href="/lawn#sprayers">Lawn, Sprayer</Link>: the plan takes it from there.
      </p>
    </>
  );
}

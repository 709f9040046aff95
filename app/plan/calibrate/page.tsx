import type { Metadata } from 'next';
import Link from 'next/link';
import { currentLawn } from '@/app/_ui/current-lawn';
import { unitChoices } from '@/app/_ui/unit-choices';
import { listSprayers } from '@/lib/diary/sprayers';
import { keepCarrier } from '@/app/lawn/actions';
import { Calibrate } from './calibrate';

export const metadata: Metadata = { title: 'Calibrate a sprayer' };

export default async function CalibratePage() {
  const lawn = await currentLawn();
  const system = lawn?.unitSystem ?? 'us-customary';
  const sprayers = lawn ? await listSprayers(lawn.id) : [];
  return (
    <>
      <h1>Calibrate a sprayer</h1>
      <p>
        The carrier volume is what your sprayer puts down at your pace. Every amount in a plan rests on it. Use plain
        water, the nozzle and pressure you spray with, and walk as you do on the lawn.
      </p>
      <Calibrate
        system={system}
        lengths={unitChoices('length', system)}
        volumes={unitChoices('tank', system)}
        areas={unitChoices('area', system)}
        flows={unitChoices('flow', system)}
        pressures={unitChoices('pressure', system)}
        carriers={unitChoices('carrier', system)}
        sprayers={sprayers.map(({ id, name }) => ({ value: id, label: name }))}
        keep={keepCarrier}
      />
      {sprayers.length === 0 && (
        <p>
          Enter what you found under <Link href="/lawn#sprayers">Lawn, Sprayer</Link>: the plan takes it from there.
        </p>
      )}
    </>
  );
}

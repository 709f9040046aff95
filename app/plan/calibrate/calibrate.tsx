'use client';
import { useState } from 'react';
import type { Choice } from '@/app/_ui/field';
import type { FieldFault, TypedAmount } from '@/lib/plan/typed-plan';
import {
  ACRE_OVER_128_M2,
  carrierFromArea,
  catchSpread,
  distanceFor128th,
  SQUARE_SIDE_M,
} from '@/lib/spray/calibration';
import { toM2, type AreaUnit } from '@/lib/units/area';
import { showArea, showLength, showVolume, significant, type UnitSystem } from '@/lib/units/display';
import { US_FLUID_OUNCE_L } from '@/lib/units/exact';
import { toM, type LengthUnit } from '@/lib/units/length';
import { toL, type VolumeUnit } from '@/lib/units/volume';
import { Faults, TypedAmountField, TypedField } from '../_bench/typed-field';
import { ByFlow } from './by-flow';
import { CarrierLine } from './carrier-line';
import { above0, faultOf } from './typed-amount';

const first = (choices: readonly Choice[]) => choices[0]?.value ?? '';

/**
 * Three ways to a carrier volume: water used on a measured area; the 1/128-acre walk, where fluid ounces read as gallons
 * per acre; flow and pace.
 */
export function Calibrate({
  system,
  lengths,
  volumes,
  areas,
  flows,
  pressures,
  carriers,
  sprayers,
  keep,
}: {
  system: UnitSystem;
  lengths: readonly Choice[];
  volumes: readonly Choice[];
  areas: readonly Choice[];
  flows: readonly Choice[];
  pressures: readonly Choice[];
  carriers: readonly Choice[];
  sprayers: readonly Choice[];
  keep: (data: FormData) => Promise<void>;
}) {
  const [used, setUsed] = useState<TypedAmount>({ value: '', unit: first(volumes) });
  const [area, setArea] = useState<TypedAmount>({ value: '', unit: first(areas) });
  const [swath, setSwath] = useState<TypedAmount>({ value: '', unit: first(lengths) });
  const [ounces, setOunces] = useState<TypedAmount>({ value: '', unit: system === 'metric' ? 'mL' : 'us-fl-oz' });
  const [catches, setCatches] = useState('');
  const usedValue = above0(used.value);
  const areaValue = above0(area.value);
  const swathValue = above0(swath.value);
  const ouncesValue = above0(ounces.value);
  const ouncesL = ouncesValue === null ? null : toL({ value: ouncesValue, unit: ounces.unit as VolumeUnit });
  const caught = catches
    .split(/[\s;]+/)
    .filter((text) => text !== '')
    .map(above0);
  const spread =
    caught.length >= 2 && caught.every((value) => value !== null)
      ? catchSpread(caught.map((value) => value ?? 0))
      : null;
  const wrong = new Map<string, FieldFault>([
    ...faultOf('used', 'Water used', used.value),
    ...faultOf('area', 'On an area of', area.value),
    ...faultOf('swath', 'Swath', swath.value),
    ...faultOf('ounces', 'Used on it', ounces.value),
    ...(caught.some((value) => value === null)
      ? faultOf(
          'catches',
          'Catches',
          catches.split(/[\s;]+/).find((text) => text !== '' && above0(text) === null) ?? '',
        )
      : []),
  ]);
  return (
    <Faults.Provider value={wrong}>
      <div className="split split-even">
        <section className="sheet" aria-labelledby="catch-area">
          <h2 id="catch-area">On a measured area</h2>
          <div className="fields">
            <TypedAmountField name="used" label="Water used" units={volumes} value={used} onChange={setUsed} />
            <TypedAmountField name="area" label="On an area of" units={areas} value={area} onChange={setArea} />
          </div>
          <div aria-live="polite">
            {usedValue !== null && areaValue !== null && (
              <CarrierLine
                carrierLPerHa={carrierFromArea(
                  toL({ value: usedValue, unit: used.unit as VolumeUnit }),
                  toM2({ value: areaValue, unit: area.unit as AreaUnit }),
                )}
                system={system}
                sprayers={sprayers}
                keep={keep}
              />
            )}
          </div>
        </section>
        {system === 'us-customary' && (
          <section className="sheet" aria-labelledby="catch-128">
            <h2 id="catch-128">On 1/128 acre</h2>
            <p className="soft">
              {showArea(ACRE_OVER_128_M2, system).text}, a square {showLength(SQUARE_SIDE_M, system).text} on a side:
              the fluid ounces used there are the gallons per acre, there being 128 fl oz in a gallon.
            </p>
            <div className="fields">
              <TypedAmountField name="swath" label="Swath" units={lengths} value={swath} onChange={setSwath} />
              <TypedAmountField
                name="ounces"
                label="Used on it"
                units={[
                  { value: 'us-fl-oz', label: 'fl oz' },
                  { value: 'mL', label: 'mL' },
                ]}
                value={ounces}
                onChange={setOunces}
              />
            </div>
            <div aria-live="polite">
              {swathValue !== null && (
                <p>
                  Walk{' '}
                  {
                    showLength(distanceFor128th(toM({ value: swathValue, unit: swath.unit as LengthUnit })), system)
                      .text
                  }{' '}
                  with this swath to cover it.
                </p>
              )}
              {ouncesL !== null && (
                <>
                  <p>
                    {showVolume(ouncesL, system).text} is {significant(ouncesL / US_FLUID_OUNCE_L)} fl oz, so{' '}
                    {significant(ouncesL / US_FLUID_OUNCE_L)} gal/acre.
                  </p>
                  <CarrierLine
                    carrierLPerHa={carrierFromArea(ouncesL, ACRE_OVER_128_M2)}
                    system={system}
                    sprayers={sprayers}
                    keep={keep}
                  />
                </>
              )}
            </div>
          </section>
        )}
        <ByFlow {...{ system, lengths, flows, pressures, carriers, sprayers, keep }} />
        <section className="sheet" aria-labelledby="nozzles">
          <h2 id="nozzles">Several nozzles, or several tries</h2>
          <TypedField
            name="catches"
            label="Catches, all in one unit"
            hint="Set apart by spaces, as 610 625 590."
            value={catches}
            onChange={setCatches}
          />
          <div aria-live="polite">
            {spread && (
              <p>
                Mean {significant(spread.meanL)}; the largest departure is{' '}
                {significant(spread.largestDepartureShare * 100, 2)} %.{' '}
                {spread.worn
                  ? 'More than 10 %: clean or change that nozzle, or try again (common practice, no source).'
                  : 'Within 10 %, which is good enough (common practice, no source).'}
              </p>
            )}
          </div>
        </section>
      </div>
    </Faults.Provider>
  );
}

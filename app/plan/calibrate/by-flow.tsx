'use client';
import { useState } from 'react';
import type { Choice } from '@/app/_ui/field';
import type { TypedAmount } from '@/lib/plan/typed-plan';
import { carrierFromFlow, flowAtPressure, speedForCarrier, walkingSpeedMPerS } from '@/lib/spray/calibration';
import { showFlow, showSpeed, type UnitSystem } from '@/lib/units/display';
import { toLPerMin, type FlowUnit } from '@/lib/units/flow';
import { toM, type LengthUnit } from '@/lib/units/length';
import { toKPa, type PressureUnit } from '@/lib/units/pressure';
import { toLPerHa, type LiquidAreaRateUnit } from '@/lib/units/rate';
import { Faults, TypedAmountField, TypedField } from '../_bench/typed-field';
import { CarrierLine } from './carrier-line';
import { above0, faultOf } from './typed-amount';

/** What was typed, in its canonical unit; null while it is no number above 0. */
function canonical<U extends string>(
  typed: TypedAmount,
  to: (amount: { value: number; unit: U }) => number,
): number | null {
  const value = above0(typed.value);
  return value === null ? null : to({ value, unit: typed.unit as U });
}

/**
 * The carrier volume from what the nozzles give in a minute and how fast one walks, and the pace for a volume wanted.
 * A flow measured or printed at one pressure is turned to the one sprayed with.
 */
export function ByFlow({
  system,
  lengths,
  flows,
  pressures,
  carriers,
  sprayers,
  keep,
}: {
  system: UnitSystem;
  lengths: readonly Choice[];
  flows: readonly Choice[];
  pressures: readonly Choice[];
  carriers: readonly Choice[];
  sprayers: readonly Choice[];
  keep: (data: FormData) => Promise<void>;
}) {
  const empty = (choices: readonly Choice[]): TypedAmount => ({ value: '', unit: choices[0]?.value ?? '' });
  const [flow, setFlow] = useState(empty(flows));
  const [measuredAt, setMeasuredAt] = useState(empty(pressures));
  const [sprayedAt, setSprayedAt] = useState(empty(pressures));
  const [width, setWidth] = useState(empty(lengths));
  const [course, setCourse] = useState(empty(lengths));
  const [seconds, setSeconds] = useState('');
  const [wanted, setWanted] = useState(empty(carriers));

  const flowThenLPerMin = canonical<FlowUnit>(flow, toLPerMin);
  const [thenKPa, nowKPa] = [canonical<PressureUnit>(measuredAt, toKPa), canonical<PressureUnit>(sprayedAt, toKPa)];
  const turned = flowThenLPerMin !== null && thenKPa !== null && nowKPa !== null;
  const flowLPerMin = turned ? flowAtPressure(flowThenLPerMin, thenKPa, nowKPa) : flowThenLPerMin;
  const widthM = canonical<LengthUnit>(width, toM);
  const courseM = canonical<LengthUnit>(course, toM);
  const time = above0(seconds);
  const speedMPerS = courseM === null || time === null ? null : walkingSpeedMPerS(courseM, time);
  const wantedLPerHa = canonical<LiquidAreaRateUnit>(wanted, toLPerHa);
  const wrong = new Map([
    ...faultOf('flow', 'Flow', flow.value),
    ...faultOf('measuredAt', 'Measured at', measuredAt.value),
    ...faultOf('sprayedAt', 'Sprayed at', sprayedAt.value),
    ...faultOf('width', 'Width sprayed', width.value),
    ...faultOf('course', 'Walked', course.value),
    ...faultOf('seconds', 'In seconds', seconds),
    ...faultOf('wanted', 'Carrier volume wanted', wanted.value),
  ]);
  return (
    <Faults.Provider value={wrong}>
      <section className="sheet" aria-labelledby="by-flow">
        <h2 id="by-flow">From flow and pace</h2>
        <p className="soft">Catch all nozzles for a minute, and time a walk over a measured course.</p>
        <div className="fields">
          <TypedAmountField name="flow" label="Flow of all nozzles" units={flows} value={flow} onChange={setFlow} />
          <TypedAmountField name="width" label="Width sprayed" units={lengths} value={width} onChange={setWidth} />
          <TypedAmountField name="course" label="Walked" units={lengths} value={course} onChange={setCourse} />
          <TypedField name="seconds" label="In seconds" value={seconds} onChange={setSeconds} />
        </div>
        <details>
          <summary>The flow holds at another pressure, or a volume is wanted</summary>
          <div className="fields">
            <TypedAmountField
              name="measuredAt"
              label="Flow measured at"
              units={pressures}
              value={measuredAt}
              onChange={setMeasuredAt}
            />
            <TypedAmountField
              name="sprayedAt"
              label="Sprayed at"
              units={pressures}
              value={sprayedAt}
              onChange={setSprayedAt}
            />
            <TypedAmountField
              name="wanted"
              label="Carrier volume wanted"
              units={carriers}
              value={wanted}
              onChange={setWanted}
            />
          </div>
        </details>
        <div aria-live="polite">
          {speedMPerS !== null && <p>You walk {showSpeed(speedMPerS, system, 'km/h').text}.</p>}
          {turned && flowLPerMin !== null && (
            <p>
              At that pressure the nozzles give {showFlow(flowLPerMin, system).text}: flow goes with the square root of
              pressure, within the range the nozzle is made for.
            </p>
          )}
          {flowLPerMin !== null && widthM !== null && wantedLPerHa !== null && (
            <p>
              For the volume wanted walk{' '}
              {showSpeed(speedForCarrier(wantedLPerHa, flowLPerMin, widthM), system, 'km/h').text}.
            </p>
          )}
          {flowLPerMin !== null && widthM !== null && speedMPerS !== null && (
            <CarrierLine
              carrierLPerHa={carrierFromFlow(flowLPerMin, speedMPerS, widthM)}
              system={system}
              sprayers={sprayers}
              keep={keep}
            />
          )}
        </div>
      </section>
    </Faults.Provider>
  );
}

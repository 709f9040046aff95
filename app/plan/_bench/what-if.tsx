'use client';
import { TableHold } from '@/app/_ui/table-hold';
import { useMemo, useState } from 'react';
import { CurveChart } from '@/app/_ui/charts/curve-chart';
import { planSpray } from '@/lib/plan/plan-spray';
import { tankItems } from '@/lib/plan/plan-doses';
import { type PlanFacts, type SprayPlan } from '@/lib/plan/spray-plan';
import { acidCurves } from '@/lib/plan/tank-chemistry';
import type { CanonicalPlan } from '@/lib/plan/typed-plan';
import { isRefused } from '@/lib/plan/plan-product';
import { fromMgPerL } from '@/lib/units/concentration';
import {
  showAlkalinity,
  showConcentration,
  showLiquidRate,
  showMass,
  significant,
  type UnitSystem,
} from '@/lib/units/display';
import { asRead } from '@/lib/units/quantity';

/** What the sliders move; null stands for "as planned". */
export interface WhatIf {
  targetPH: number | null;
  alkalinityMgPerLCaCO3: number | null;
  carrierShare: number;
  rateShare: number;
}

const AS_PLANNED: WhatIf = { targetPH: null, alkalinityMgPerLCaCO3: null, carrierShare: 1, rateShare: 1 };

/** The plan with the sliders' values in it. */
function changed(wish: CanonicalPlan, whatIf: WhatIf): CanonicalPlan {
  const { rateShare } = whatIf;
  return {
    ...wish,
    targetPH: whatIf.targetPH ?? wish.targetPH,
    alkalinityMgPerLCaCO3: whatIf.alkalinityMgPerLCaCO3 ?? wish.alkalinityMgPerLCaCO3,
    carrierLPerHa: wish.carrierLPerHa * whatIf.carrierShare,
    items: wish.items.map((item) => {
      if (item.dose.kind === 'rate')
        return {
          ...item,
          dose: { ...item.dose, rate: { ...item.dose.rate, value: item.dose.rate.value * rateShare } },
        };
      return item.dose.kind === 'nutrient'
        ? { ...item, dose: { ...item.dose, kgPerHa: item.dose.kgPerHa * rateShare } }
        : item;
    }),
  };
}

function Slider({
  label,
  value,
  min,
  max,
  step,
  text,
  ends,
  onChange,
}: {
  label: string;
  value: number;
  min: number;
  max: number;
  step: number;
  text: string;
  /** What its two ends stand for. */ ends: readonly [string, string];
  onChange: (value: number) => void;
}) {
  return (
    <label className="slider">
      <span>
        {label}: <strong className="number">{text}</strong>{' '}
        <span className="soft">
          from {ends[0]} to {ends[1]}
        </span>
      </span>
      <input
        type="range"
        min={min}
        max={max}
        step={step}
        value={value}
        aria-valuetext={text}
        onChange={(event) => onChange(Number(event.target.value))}
      />
    </label>
  );
}

/** pH against dose as a curve, and sliders that answer at once, without touching the plan until one says so. */
export function WhatIfPanel({
  plan,
  wish,
  facts,
  system,
  onTake,
}: {
  plan: SprayPlan;
  wish: CanonicalPlan;
  facts: PlanFacts;
  system: UnitSystem;
  onTake: (whatIf: WhatIf) => void;
}) {
  const [whatIf, setWhatIf] = useState(AS_PLANNED);
  const touched = JSON.stringify(whatIf) !== JSON.stringify(AS_PLANNED);
  const tried = useMemo(
    () => (touched ? planSpray(changed(wish, whatIf), facts) : { plan, faults: [] }),
    [touched, wish, whatIf, facts, plan],
  );
  const shown = tried.plan;
  const move = (part: Partial<WhatIf>) => setWhatIf((before) => ({ ...before, ...part }));
  const { water } = plan.chemistry;
  return (
    <>
      {shown && <DoseCurve plan={shown} wish={changed(wish, whatIf)} facts={facts} system={system} />}
      <h3>What if</h3>
      <div className="sliders">
        {water !== null && (
          <>
            <Slider
              label="Target pH"
              min={4}
              max={Math.max(4.1, Math.min(9, Math.floor(water.pH * 10) / 10))}
              step={0.1}
              value={whatIf.targetPH ?? wish.targetPH ?? 6}
              text={(whatIf.targetPH ?? wish.targetPH)?.toFixed(1) ?? 'none'}
              ends={['4.0', Math.max(4.1, Math.min(9, Math.floor(water.pH * 10) / 10)).toFixed(1)]}
              onChange={(targetPH) => move({ targetPH })}
            />
            <Slider
              label="Alkalinity of the water"
              min={0}
              max={400}
              step={5}
              value={whatIf.alkalinityMgPerLCaCO3 ?? water.alkalinityMgPerLCaCO3}
              text={`${showAlkalinity(whatIf.alkalinityMgPerLCaCO3 ?? water.alkalinityMgPerLCaCO3, system).text}`}
              ends={['none', showAlkalinity(400, system).text]}
              onChange={(alkalinityMgPerLCaCO3) => move({ alkalinityMgPerLCaCO3 })}
            />
          </>
        )}
        <Slider
          label="Carrier volume"
          min={0.25}
          max={3}
          step={0.05}
          value={whatIf.carrierShare}
          text={showLiquidRate(wish.carrierLPerHa * whatIf.carrierShare, system).text}
          ends={['a quarter', '3 times the plan']}
          onChange={(carrierShare) => move({ carrierShare })}
        />
        <Slider
          label="All rates"
          min={0.1}
          max={2}
          step={0.05}
          value={whatIf.rateShare}
          text={`${significant(whatIf.rateShare * 100)} %`}
          ends={['10 %', '200 %']}
          onChange={(rateShare) => move({ rateShare })}
        />
      </div>
      <div aria-live="polite">
        {tried.faults.map((fault) => (
          <p key={fault.field} className="notice notice-bad">
            {asRead(fault.sentence, system)}
          </p>
        ))}
      </div>
      {shown && <Comparison plan={plan} tried={shown} system={system} />}
      <div className="row">
        <button type="button" disabled={!touched} onClick={() => setWhatIf(AS_PLANNED)}>
          Back to the plan
        </button>
        <button
          type="button"
          disabled={!touched || shown === null}
          onClick={() => {
            onTake(whatIf);
            setWhatIf(AS_PLANNED);
          }}
        >
          Take these into the plan
        </button>
      </div>
    </>
  );
}

/** Points of a curve with the dose in the reader's unit. */
const points = (list: readonly { productGPerL: number; pH: number }[], system: UnitSystem) =>
  list.map(({ productGPerL, pH }) => ({ x: dose(productGPerL, system), y: pH }));
const dose = (gPerL: number, system: UnitSystem): number =>
  fromMgPerL(gPerL * 1000, system === 'metric' ? 'g/L' : 'oz/us-gal').value;

function DoseCurve({
  plan,
  wish,
  facts,
  system,
}: {
  plan: SprayPlan;
  wish: CanonicalPlan;
  facts: PlanFacts;
  system: UnitSystem;
}) {
  const { water, acid, waterDose } = plan.chemistry;
  if (water === null) return null;
  const waterGPerL = waterDose?.kind === 'dose' ? waterDose.amount.massKg * 1000 : 0;
  const acidPlace = plan.acidItem?.place ?? plan.items.findIndex((item) => item.name === acid.name);
  const planned = acidPlace >= 0 ? ((plan.items[acidPlace]?.dose.massKgPerHa ?? 0) * 1000) / plan.carrierLPerHa : 0;
  const mostGPerL = Math.max(0.05, waterGPerL * 1.6, planned * 1.6);
  const others = wish.items.flatMap((item, place) => {
    const product = facts.products.find((one) => one.id === item.productId);
    const dose = plan.items[place]?.dose;
    return product && dose && place !== acidPlace ? [{ ...product, dose }] : [];
  });
  const curves = acidCurves(water, tankItems(others, plan.carrierLPerHa), acid, mostGPerL);
  if (isRefused(curves)) return null;
  return (
    <CurveChart
      label={`pH against ${acid.name}, from none to ${showConcentration(mostGPerL * 1000, system).text}`}
      xLabel={`${acid.name}, ${system === 'metric' ? 'g/L' : 'oz/gal'}`}
      yLabel="pH, closed to air"
      curves={[
        { name: 'The water alone', points: points(curves.water, system) },
        ...(curves.mix ? [{ name: 'The mix', points: points(curves.mix, system) }] : []),
      ]}
      marks={[
        ...(wish.targetPH === null ? [] : [{ y: wish.targetPH, label: `target ${wish.targetPH.toFixed(1)}` }]),
        ...(planned > 0
          ? [{ x: dose(planned, system), label: `planned ${showConcentration(planned * 1000, system).text}` }]
          : []),
      ]}
    />
  );
}

const ph = (one: SprayPlan, air: 'closed' | 'open') =>
  one.chemistry.tank?.kind === 'predicted' ? one.chemistry.tank[air].pH.toFixed(2) : 'unknown';
const count = (one: SprayPlan) =>
  `${one.checks.filter((check) => check.level === 'over-label' || check.level === 'never').length} / ${one.checks.filter((check) => check.level === 'caution').length}`;

function Comparison({ plan, tried, system }: { plan: SprayPlan; tried: SprayPlan; system: UnitSystem }) {
  const acid = (one: SprayPlan) => {
    const { acidItem } = one;
    if (acidItem !== null) return showMass(one.sheet.totals[acidItem.place]?.massKg ?? 0, system).text;
    const water = one.chemistry.waterDose;
    return water?.kind === 'dose'
      ? showMass(water.amount.massKg * (one.sheet.tanks.totalMixL + one.sheet.tanks.reserveL), system).text
      : 'none';
  };
  // prettier-ignore
  const rows: [string, (one: SprayPlan) => string][] = [
    [plan.acidItem === null ? `${plan.chemistry.acid.name} for the water alone` : `${plan.chemistry.acid.name} for the mix`, acid],
    ['pH as mixed', (one) => ph(one, 'closed')],
    ['pH open to air', (one) => ph(one, 'open')],
    ['Dissolved in the mix', (one) => showConcentration(one.sheet.salt.saltGPerL * 1000, system).text],
    ['Tanks', (one) => String(one.sheet.recipes.length)],
    ['Against the label / cautions', count],
  ];
  return (
    <TableHold label="Plan and what if">
      <table>
        <thead>
          <tr>
            <th scope="col"> </th>
            <th scope="col" className="number">
              Plan
            </th>
            <th scope="col" className="number">
              What if
            </th>
          </tr>
        </thead>
        <tbody>
          {rows.map(([name, of]) => (
            <tr key={name}>
              <th scope="row">{name}</th>
              <td className="number">{of(plan)}</td>
              <td className="number">{of(plan) === of(tried) ? of(tried) : <strong>{of(tried)}</strong>}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </TableHold>
  );
}

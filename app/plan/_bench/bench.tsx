'use client';
import Link from 'next/link';
import { useEffect, useMemo, useState } from 'react';
import { ActionForm } from '@/app/_ui/action-form';
import type { Choice } from '@/app/_ui/field';
import type { FormResult } from '@/lib/forms/result';
import type { PlanFacts } from '@/lib/plan/spray-plan';
import type { TypedPlan } from '@/lib/plan/typed-plan';
import { needingReason } from '@/lib/spray/check';
import { significant, type UnitSystem } from '@/lib/units/display';
import { BenchItem, emptyItem } from './bench-items';
import { ChemistrySummary } from './chemistry';
import { PlanResult } from './plan-result';
import { Faults, TypedAmountField, TypedField } from './typed-field';
import { WhatIfPanel } from './what-if';
import { asRead } from '@/lib/units/quantity';
import { readBenchDraft, workedOut, withSprayer, withWhatIf, type SprayerStart, type BenchUnits } from './work-out';
import { PlotBoxes, MixWrong, Waiting, ReasonField } from './bench-fields';

export function Bench({
  action,
  draftKey,
  start,
  facts,
  plots,
  sprayers,
  sprayerChoices,
  units,
  system,
  submit,
  leave,
}: {
  action: (previous: FormResult, data: FormData) => Promise<FormResult>;
  draftKey: string;
  start: TypedPlan;
  facts: PlanFacts;
  plots: { id: string; label: string }[];
  sprayers: SprayerStart[];
  sprayerChoices: Choice[];
  units: BenchUnits;
  system: UnitSystem;
  submit: string;
  leave: string;
}) {
  const [typed, setTyped] = useState(start);
  const [isBack, setIsBack] = useState(false);
  useEffect(() => {
    const restore = () => {
      const kept = readBenchDraft(draftKey);
      if (Object.keys(kept).length === 0) return;
      setTyped((before) => ({ ...before, ...kept }));
      setIsBack(true);
    };
    restore();
  }, [draftKey]);
  useEffect(() => {
    // Nothing typed, nothing kept: an untouched bench starts afresh the next time.
    if (typed !== start) sessionStorage.setItem(draftKey, JSON.stringify(typed));
  }, [draftKey, start, typed]);
  const startEmpty = () => {
    sessionStorage.removeItem(draftKey);
    setTyped(start);
    setIsBack(false);
  };

  const set = (part: Partial<TypedPlan>) => setTyped((before) => ({ ...before, ...part }));
  const { wish, facts: factsNow, plan, faults } = useMemo(() => workedOut(typed, facts), [typed, facts]);
  const over = plan === null ? [] : needingReason(plan.checks);
  const plannedOf = (row: number) =>
    plan === null || wish === null ? undefined : plan.items[wish.items.findIndex((item) => item.row === row)];

  return (
    <Faults.Provider value={faults}>
      <ActionForm
        action={action}
        submit={submit}
        secondary={
          <Link className="button" href={leave}>
            Leave it
          </Link>
        }
      >
        {isBack && (
          <div className="notice notice-plain row row-end" role="status">
            <span>What you had typed here and not kept is back.</span>
            <button type="button" onClick={startEmpty}>
              Start without it
            </button>
          </div>
        )}
        <section className="sheet" aria-labelledby="where">
          <h2 id="where">Where and with what</h2>
          <PlotBoxes plots={plots} ticked={typed.plotIds} onChange={(plotIds) => set({ plotIds })} />
          <div className="fields">
            <TypedField
              name="startedLocal"
              label="Planned start"
              type="datetime-local"
              value={typed.startedLocal}
              onChange={(startedLocal) => set({ startedLocal })}
              hint={`Local time, ${facts.timeZone}`}
            />
            <div className="field">
              <label htmlFor="sprayer">Sprayer</label>
              <select
                id="sprayer"
                name="sprayerId"
                value={typed.sprayerId}
                onChange={(event) =>
                  setTyped(
                    withSprayer(
                      typed,
                      sprayers.find((one) => one.id === event.target.value),
                      event.target.value,
                    ),
                  )
                }
              >
                {sprayerChoices.map((choice) => (
                  <option key={choice.value} value={choice.value}>
                    {choice.label}
                  </option>
                ))}
              </select>
            </div>
            <TypedAmountField
              name="carrier"
              label="Carrier volume"
              hint="Mix on the ground, from a catch test."
              units={units.carrier}
              value={typed.carrier}
              onChange={(carrier) => set({ carrier })}
            />
            <TypedAmountField
              name="tank"
              label="Tank"
              units={units.tank}
              value={typed.tank}
              onChange={(tank) => set({ tank })}
            />
          </div>
          <details>
            <summary>Room in the tank and extra mix</summary>
            <div className="fields">
              <TypedField
                name="headroomPercent"
                label="Tank left empty, %"
                hint="Room to stir and for foam."
                value={typed.headroomPercent}
                onChange={(headroomPercent) => set({ headroomPercent })}
              />
              <TypedField
                name="reservePercent"
                label="Extra mix, %"
                hint="For the hose and an uneven walk."
                value={typed.reservePercent}
                onChange={(reservePercent) => set({ reservePercent })}
              />
              <label className="tick">
                <input
                  type="checkbox"
                  name="evenLoads"
                  value="yes"
                  checked={typed.evenLoads}
                  onChange={(event) => set({ evenLoads: event.target.checked })}
                />
                <span>Every tank alike, instead of full ones and a small last</span>
              </label>
            </div>
          </details>
        </section>

        <section className="sheet" aria-labelledby="mix">
          <h2 id="mix">The mix</h2>
          <MixWrong />
          {typed.items.map((item, index) => (
            <BenchItem
              // Rows have no identity but their place; all their text lives in `typed`, so removing one moves the rest
              // up rightly.
              // oxlint-disable-next-line react/no-array-index-key
              key={index}
              index={index}
              item={item}
              products={facts.products}
              units={units}
              system={system}
              planned={plannedOf(index)}
              hasTarget={typed.targetPh.trim() !== ''}
              onChange={(next) => set({ items: typed.items.map((one, place) => (place === index ? next : one)) })}
              onRemove={
                typed.items.length > 1
                  ? () => set({ items: typed.items.filter((_, place) => place !== index) })
                  : undefined
              }
            />
          ))}
          <button type="button" onClick={() => set({ items: [...typed.items, emptyItem(units)] })}>
            Another product
          </button>
        </section>

        <section className="sheet" aria-labelledby="water">
          <h2 id="water">Water and pH</h2>
          <div className="fields">
            <TypedField
              name="waterPh"
              label="Water pH"
              value={typed.waterPh}
              onChange={(waterPh) => set({ waterPh })}
            />
            <TypedAmountField
              name="waterAlkalinity"
              label="Alkalinity"
              hint="It, not the pH, sets the acid dose."
              units={units.alkalinity}
              value={typed.waterAlkalinity}
              onChange={(waterAlkalinity) => set({ waterAlkalinity })}
            />
            <TypedAmountField
              name="waterHardness"
              label="Hardness"
              units={units.alkalinity}
              value={typed.waterHardness}
              onChange={(waterHardness) => set({ waterHardness })}
            />
            <TypedField
              name="targetPh"
              label="Target pH"
              hint="Left empty, no acid is dosed."
              value={typed.targetPh}
              onChange={(targetPh) => set({ targetPh })}
            />
            <div className="field">
              <label htmlFor="acid-air">Acid is dosed for</label>
              <select
                id="acid-air"
                name="acidAir"
                value={typed.acidAir ?? 'closed'}
                onChange={(event) => set({ acidAir: event.target.value })}
                aria-describedby="acid-air-hint"
              >
                <option value="closed">a closed tank, sprayed soon</option>
                <option value="open">a tank that stands open for hours</option>
              </select>
              <span className="hint" id="acid-air-hint">
                Acid turns bicarbonate into carbon dioxide. Kept in, it holds the pH down; as it leaves, the pH climbs
                back, and holding it takes up to 2.5 times the acid.
              </span>
            </div>
            <TypedField
              name="jarPh"
              label="pH of a jar of the mix"
              hint="Measured; it wins over the figure worked out."
              value={typed.jarPh}
              onChange={(jarPh) => set({ jarPh })}
            />
          </div>
          {plan && wish && (
            <>
              <ChemistrySummary
                plan={plan}
                targetPh={wish.targetPH}
                acidAir={wish.acidAir}
                jarPh={wish.jarPH}
                system={system}
              />
              <WhatIfPanel
                plan={plan}
                wish={wish}
                facts={factsNow}
                system={system}
                onTake={(whatIf) => setTyped(withWhatIf(typed, whatIf))}
              />
            </>
          )}
        </section>

        <section className="sheet" aria-labelledby="weather">
          <h2 id="weather">Weather, as far as it is known</h2>
          <div className="fields">
            <TypedAmountField
              name="airTemp"
              label="Warmest air that day"
              hint="For the heat check and the drying time."
              units={units.temperature}
              value={typed.airTemp}
              onChange={(airTemp) => set({ airTemp })}
            />
            <TypedField
              name="relHumidityPercent"
              label="Relative humidity, %"
              value={typed.relHumidityPercent}
              onChange={(relHumidityPercent) => set({ relHumidityPercent })}
            />
            <TypedAmountField
              name="wind"
              label="Wind"
              units={units.speed}
              value={typed.wind}
              onChange={(wind) => set({ wind })}
            />
          </div>
        </section>

        {plan === null ? <Waiting faults={faults} system={system} /> : <PlanResult plan={plan} system={system} />}
        <ReasonField
          over={over.map((check) => asRead(check.sentence, system))}
          value={typed.overLimitReason}
          onChange={(overLimitReason) => set({ overLimitReason })}
        />
        <div className="field">
          <label htmlFor="plan-note">Note</label>
          <textarea
            id="plan-note"
            name="note"
            rows={2}
            value={typed.note}
            onChange={(event) => set({ note: event.target.value })}
          />
        </div>
        {plan && (
          <p className="soft">
            Planned on {significant(plan.items.length)} {plan.items.length === 1 ? 'product' : 'products'} over{' '}
            {plan.plots.map((plot) => plot.name).join(', ')}.
          </p>
        )}
      </ActionForm>
    </Faults.Provider>
  );
}

'use client';
import Link from 'next/link';
import { useState, useSyncExternalStore } from 'react';
import { ActionForm, useFieldError } from '@/app/_ui/action-form';
import { Field, TextArea, type Choice } from '@/app/_ui/field';
import type { FormResult } from '@/lib/forms/result';
import { designRemarks, hasTwoFactors, plotCount, type Layout, type TrialDesign } from '@/lib/trial/design';
import { drawTrial } from '@/lib/trial/draw-trial';
import { toM, type LengthUnit } from '@/lib/units/length';
import { MapKey, StripMap } from '../_parts/strip-map';
import type { ShelfProduct } from '@/app/_ui/shelf-item';
import { TreatmentRows } from './treatment-rows';
import { never, TRIAL_DRAFT, numberOf, DESIGNS, type DesignerState } from './designer-state';
import { Typed, CarrierField } from './designer-fields';
import { Power } from './design-power';

/** Lays out a trial: every change redraws the map and the power line at once; nothing is kept until it is sent. */
export function Designer({
  action,
  products,
  liquidUnits,
  dryUnits,
  carrierUnits,
  unit,
  startsOn,
  seed,
  swath,
  defaultRateUnit,
  scatterFrom,
  scatter,
}: {
  action: (previous: FormResult, data: FormData) => Promise<FormResult>;
  products: ShelfProduct[];
  liquidUnits: Choice[];
  dryUnits: Choice[];
  carrierUnits: Choice[];
  unit: 'm' | 'ft';
  startsOn: string;
  seed: number;
  /** In `unit`. */
  swath: string;
  defaultRateUnit: string;
  scatterFrom: string;
  scatter: string;
}) {
  const start: DesignerState = {
    design: 'randomised-blocks',
    blocks: '4',
    blockSize: '3',
    seed: String(seed),
    swath,
    passes: '2',
    stripLength: unit === 'm' ? '5' : '16',
    buffer: '',
    alley: '',
    oneRow: false,
    scatter,
    treatments: [
      { name: 'Unsprayed', isCheck: true, onSubplots: false, items: [] },
      { name: '', isCheck: false, onSubplots: false, items: [{ productId: '', value: '', unit: '' }] },
    ],
  };
  const kept = useSyncExternalStore(
    never,
    () => sessionStorage.getItem(TRIAL_DRAFT),
    () => null,
  );
  const [changed, setChanged] = useState<DesignerState | null>(null);
  const state = changed ?? { ...start, ...(kept ? (JSON.parse(kept) as Partial<DesignerState>) : {}) };
  const change = (part: Partial<DesignerState>) => {
    const next = { ...state, ...part };
    sessionStorage.setItem(TRIAL_DRAFT, JSON.stringify(next));
    setChanged(next);
  };
  const wrongTreatments = useFieldError('treatments');
  const split = hasTwoFactors(state.design);
  const named = state.treatments.map((one, index) => ({ ...one, name: one.name.trim() || `Treatment ${index + 1}` }));
  const main = named.filter((one) => !(split && one.onSubplots)).map((one) => one.name);
  const sub = named.filter((one) => split && one.onSubplots).map((one) => one.name);
  const blocks = state.design === 'latin-square' ? main.length : Math.trunc(numberOf(state.blocks));
  const design: TrialDesign = {
    layout: state.design,
    treatments: main,
    ...(split ? { subTreatments: sub } : {}),
    check: named.find((one) => one.isCheck)?.name ?? null,
    blocks,
    ...(state.design === 'incomplete-blocks' ? { blockSize: Math.trunc(numberOf(state.blockSize)) } : {}),
  };
  const inM = (text: string) => toM({ value: numberOf(text), unit: unit as LengthUnit });
  const sizesGiven =
    [state.swath, state.passes, state.stripLength].every((text) => numberOf(text) > 0) &&
    Number.isInteger(numberOf(state.seed));
  const drawn = sizesGiven
    ? drawTrial(design, numberOf(state.seed), {
        swathM: inM(state.swath),
        passesPerStrip: numberOf(state.passes),
        stripLengthM: inM(state.stripLength),
        ...(numberOf(state.buffer) >= 0 ? { bufferM: inM(state.buffer) } : {}),
        ...(numberOf(state.alley) >= 0 ? { alleyM: inM(state.alley) } : {}),
        blocksInOneRow: state.oneRow,
      })
    : ({ ok: false, problems: ['Give the swath, the passes, the strip length and the seed to see the map.'] } as const);
  const perMetre = unit === 'm' ? 1 : 1 / 0.3048;
  const about = DESIGNS.find((one) => one.value === state.design)?.about;
  return (
    <ActionForm
      action={action}
      submit="Lay it out"
      busy="Drawing lots …"
      secondary={
        <Link className="button" href="/trials">
          Leave it
        </Link>
      }
    >
      <div className="fields">
        <Field name="name" label="Name" placeholder="Iron, spring" />
        <Field
          name="startsOn"
          label="First spray"
          type="date"
          defaultValue={startsOn}
          hint="The day may still move; photo days count from the spray."
        />
        <Field
          name="photoDays"
          label="Photo days after the spray"
          defaultValue="1, 3, 7, 14"
          hint="A photo just before spraying is always asked for."
        />
      </div>
      <TextArea
        name="question"
        label="Question"
        hint="What do you want to know, and what will you do with the answer?"
      />
      <fieldset>
        <legend>Treatments</legend>
        {wrongTreatments && <p className="wrong">{wrongTreatments}</p>}
        <TreatmentRows
          rows={state.treatments}
          split={split}
          products={products}
          liquidUnits={liquidUnits}
          dryUnits={dryUnits}
          defaultRateUnit={defaultRateUnit}
          onChange={(treatments) => change({ treatments })}
        />
      </fieldset>
      <fieldset>
        <legend>Design</legend>
        <div className="fields">
          <div className="field">
            <label htmlFor="design">Design</label>
            <select
              id="design"
              name="design"
              value={state.design}
              onChange={(event) => change({ design: event.target.value as Layout })}
            >
              {DESIGNS.map((one) => (
                <option key={one.value} value={one.value}>
                  {one.label}
                </option>
              ))}
            </select>
            <span className="hint">{about}</span>
          </div>
          <Typed
            name="blocks"
            label={
              state.design === 'latin-square'
                ? 'Rows (as many as treatments)'
                : state.design === 'completely-randomised'
                  ? 'Strips of each treatment'
                  : 'Blocks (replicates)'
            }
            value={state.design === 'latin-square' ? String(blocks) : state.blocks}
            readOnly={state.design === 'latin-square'}
            onChange={(blocksTyped) => change({ blocks: blocksTyped })}
          />
          {state.design === 'incomplete-blocks' && (
            <Typed
              name="blockSize"
              label="Strips in a block"
              value={state.blockSize}
              onChange={(typed) => change({ blockSize: typed })}
            />
          )}
          <Typed
            name="seed"
            label="Seed of the draw"
            value={state.seed}
            hint="The same seed draws the same order again: it is kept with the trial."
            onChange={(seedTyped) => change({ seed: seedTyped })}
          />
        </div>
        <Power
          design={design}
          scatter={state.scatter}
          scatterFrom={scatterFrom}
          onScatter={(typed) => change({ scatter: typed })}
        />
      </fieldset>
      <fieldset>
        <legend>Size on the ground</legend>
        <div className="fields">
          <Typed
            name="swath"
            label={`Swath of the sprayer, ${unit}`}
            amountUnit={unit}
            value={state.swath}
            onChange={(typed) => change({ swath: typed })}
          />
          <Typed
            name="passesPerStrip"
            label="Passes a strip"
            value={state.passes}
            onChange={(typed) => change({ passes: typed })}
          />
          <Typed
            name="stripLength"
            label={`Strip length, ${unit}`}
            amountUnit={unit}
            value={state.stripLength}
            onChange={(typed) => change({ stripLength: typed })}
          />
          <Typed
            name="buffer"
            label={`Buffer between strips, ${unit}`}
            amountUnit={unit}
            value={state.buffer}
            hint="Empty: a quarter of the swath, for drift and overlap (common practice)."
            onChange={(typed) => change({ buffer: typed })}
          />
          <Typed
            name="alley"
            label={`Alley between blocks, ${unit}`}
            amountUnit={unit}
            value={state.alley}
            hint="Empty: one swath."
            onChange={(typed) => change({ alley: typed })}
          />
          <Typed
            name="originX"
            label={`Near-left stake: right of the lawn’s left stake, ${unit}`}
            amountUnit={unit}
            hint="Where the trial lies on the lawn’s plan."
          />
          <Typed name="originY" label={`and beyond it, ${unit}`} amountUnit={unit} />
          <label className="tick">
            <input
              type="checkbox"
              name="blocksInOneRow"
              value="yes"
              checked={state.oneRow}
              onChange={(event) => change({ oneRow: event.target.checked })}
            />
            <span>Blocks side by side</span>
          </label>
        </div>
        <CarrierField units={carrierUnits} />
      </fieldset>
      <section aria-live="polite">
        <h2>Strip map</h2>
        {drawn.ok ? (
          <>
            <StripMap
              id="draft"
              strips={drawn.map.plots.map((plot) => ({
                key: plot.label,
                label: plot.label,
                treatment: plot.treatment,
                subTreatment: plot.subTreatment,
                cornersM: plot.cornersM,
              }))}
              treatments={named.map(({ name, isCheck }) => ({ name, isCheck }))}
              widthM={drawn.map.widthM}
              lengthM={drawn.map.lengthM}
              unit={unit}
              perMetre={perMetre}
            />
            <p className="soft">
              {plotCount(design)} strips of {(drawn.map.plots[0]!.widthM * perMetre).toFixed(2)} ×{' '}
              {(drawn.map.plots[0]!.lengthM * perMetre).toFixed(2)} {unit}, in all{' '}
              {(drawn.map.widthM * perMetre).toFixed(1)} × {(drawn.map.lengthM * perMetre).toFixed(1)} {unit}.
            </p>
            <MapKey
              treatments={named.map((one) => ({
                name: one.name,
                isCheck: one.isCheck,
                what:
                  one.items
                    .map((item) => products.find((product) => product.id === item.productId)?.name)
                    .filter(Boolean)
                    .join(', ') || 'nothing picked yet',
              }))}
            />
          </>
        ) : (
          drawn.problems.map((problem) => (
            <p key={problem} className="notice">
              {problem}
            </p>
          ))
        )}
        {designRemarks(design).map((remark) => (
          <p key={remark} className="notice">
            {remark}
          </p>
        ))}
      </section>
    </ActionForm>
  );
}

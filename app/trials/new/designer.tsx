'use client';
import Link from 'next/link';
import { useState, useSyncExternalStore } from 'react';
import { ActionForm, useFieldError } from '@/app/_ui/action-form';
import { Field, TextArea, type Choice } from '@/app/_ui/field';
import { TableHold } from '@/app/_ui/table-hold';
import type { FormResult } from '@/lib/forms/result';
import {
  designProblems,
  designRemarks,
  hasTwoFactors,
  plotCount,
  type Layout,
  type TrialDesign,
} from '@/lib/trial/design';
import { differenceSeen, sightOf, type Sight } from '@/lib/trial/design-power';
import { drawTrial } from '@/lib/trial/draw-trial';
import { toM, type LengthUnit } from '@/lib/units/length';
import { MapKey, StripMap } from '../_parts/strip-map';
import type { ShelfProduct } from '@/app/_ui/shelf-item';
import { TreatmentRows, type TreatmentStart } from './treatment-rows';

// prettier-ignore
const DESIGNS: readonly { value: Layout; label: string; about: string }[] = [
  { value: 'randomised-blocks', label: 'Randomised blocks', about: 'Every treatment once in each block, in an order drawn by lot. The one to take when in doubt.' },
  { value: 'paired-strips', label: 'Paired strips', about: 'Two treatments side by side, repeated in pairs.' },
  { value: 'completely-randomised', label: 'Completely randomised', about: 'Every strip drawn by lot from the whole ground, without blocks: only for ground that is alike all over.' },
  { value: 'incomplete-blocks', label: 'Incomplete blocks', about: 'Blocks with room for some of the treatments only, chosen so that any two meet about as often as others: for many treatments on patchy ground.' },
  { value: 'latin-square', label: 'Latin square', about: 'As many rows as treatments; each treatment once in every row and column. For ground that changes in two directions.' },
  { value: 'split-plot', label: 'Split plot', about: 'One factor on main plots, a second within them: what is hard to change goes on the main plots.' },
  { value: 'strip-plot', label: 'Strip plot', about: 'One factor on strips along the block, the second on strips across it, where both are hard to change, such as two passes of machines.' },
];

interface DesignerState {
  design: Layout;
  blocks: string;
  blockSize: string;
  seed: string;
  swath: string;
  passes: string;
  stripLength: string;
  buffer: string;
  alley: string;
  oneRow: boolean;
  scatter: string;
  treatments: TreatmentStart[];
}

/** Where an unfinished design is kept over a reload. */
const TRIAL_DRAFT = 'draft:trial-design';
const never = () => () => {};

const number = (text: string): number => (text.trim() === '' ? Number.NaN : Number(text.replace(',', '.')));

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
  const blocks = state.design === 'latin-square' ? main.length : Math.trunc(number(state.blocks));
  const design: TrialDesign = {
    layout: state.design,
    treatments: main,
    ...(split ? { subTreatments: sub } : {}),
    check: named.find((one) => one.isCheck)?.name ?? null,
    blocks,
    ...(state.design === 'incomplete-blocks' ? { blockSize: Math.trunc(number(state.blockSize)) } : {}),
  };
  const inM = (text: string) => toM({ value: number(text), unit: unit as LengthUnit });
  const sizesGiven =
    [state.swath, state.passes, state.stripLength].every((text) => number(text) > 0) &&
    Number.isInteger(number(state.seed));
  const drawn = sizesGiven
    ? drawTrial(design, number(state.seed), {
        swathM: inM(state.swath),
        passesPerStrip: number(state.passes),
        stripLengthM: inM(state.stripLength),
        ...(number(state.buffer) >= 0 ? { bufferM: inM(state.buffer) } : {}),
        ...(number(state.alley) >= 0 ? { alleyM: inM(state.alley) } : {}),
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

/** A text input for a number; with `amountUnit` it posts `name.value` and `name.unit`. */
function Typed({
  name,
  label,
  value,
  onChange,
  hint,
  amountUnit,
  readOnly,
}: {
  name: string;
  label: string;
  value?: string;
  onChange?: (typed: string) => void;
  hint?: string;
  amountUnit?: string;
  readOnly?: boolean;
}) {
  const wrong = useFieldError(name);
  const input = onChange
    ? { value: value ?? '', onChange: (event: React.ChangeEvent<HTMLInputElement>) => onChange(event.target.value) }
    : { defaultValue: '' };
  return (
    <div className="field">
      <label htmlFor={`trial-${name}`}>{label}</label>
      <input
        id={`trial-${name}`}
        name={amountUnit ? `${name}.value` : name}
        inputMode="decimal"
        autoComplete="off"
        readOnly={readOnly}
        aria-invalid={wrong ? true : undefined}
        aria-describedby={wrong || hint ? `trial-${name}-note` : undefined}
        {...input}
      />
      {amountUnit && <input type="hidden" name={`${name}.unit`} value={amountUnit} />}
      {(wrong || hint) && (
        <span id={`trial-${name}-note`} className={wrong ? 'wrong' : 'hint'}>
          {wrong ?? hint}
        </span>
      )}
    </div>
  );
}

function CarrierField({ units }: { units: Choice[] }) {
  const wrong = useFieldError('carrier');
  return (
    <div className="field">
      <label htmlFor="trial-carrier">Carrier volume for all treatments</label>
      <div className="amount">
        <input
          id="trial-carrier"
          name="carrier.value"
          inputMode="decimal"
          autoComplete="off"
          aria-invalid={wrong ? true : undefined}
        />
        <select name="carrier.unit" aria-label="Carrier volume: unit">
          {units.map((one) => (
            <option key={one.value} value={one.value}>
              {one.label}
            </option>
          ))}
        </select>
      </div>
      <span className={wrong ? 'wrong' : 'hint'}>{wrong ?? 'Empty: the sprayer’s catch test counts.'}</span>
    </div>
  );
}

/**
 * "With 3 blocks you can see 0.025": what each number of blocks can tell, for a given scatter from plot to plot, judged
 * as the report judges.
 */
function Power({
  design,
  scatter,
  scatterFrom,
  onScatter,
}: {
  design: TrialDesign;
  scatter: string;
  scatterFrom: string;
  onScatter: (typed: string) => void;
}) {
  const sd = number(scatter);
  const sound = sd > 0 && sd < 1 && designProblems(design).length === 0;
  const sights = sound ? sightOf(design) : [];
  const fixed = design.layout === 'latin-square';
  const rows =
    sound && !fixed
      ? [2, 3, 4, 5, 6, 8, 10, 12].flatMap((blocks) =>
          designProblems({ ...design, blocks }).length > 0 ? [] : [{ blocks, sights: sightOf({ ...design, blocks }) }],
        )
      : [];
  const judged = (sight: Sight) =>
    sight.treatments === 2 ? 't test' : sight.verdict === 'against the check' ? 'Dunnett' : 'Tukey';
  const unit = design.layout === 'completely-randomised' ? 'strips of each treatment' : 'blocks';
  return (
    <div>
      <div className="field" style={{ maxWidth: '22rem' }}>
        <label htmlFor="trial-scatter">Scatter from plot to plot (standard deviation of the index)</label>
        <input
          id="trial-scatter"
          inputMode="decimal"
          value={scatter}
          onChange={(event) => onScatter(event.target.value)}
        />
        <span className="hint">{scatterFrom}</span>
      </div>
      {sights.map((sight) => (
        <p key={sight.of} className="notice notice-good power-line">
          With {design.blocks} {fixed ? 'rows' : unit} you can see a difference of{' '}
          <strong>{differenceSeen(sight, sd).toFixed(3)}</strong>{' '}
          {sight.verdict === 'against the check' ? 'from the check' : 'between two treatments'}
          {sights.length > 1 && ` of ${sight.of}`} (8 times in 10, at the 5 % level, {judged(sight)} with {sight.df}{' '}
          degrees of freedom). {sight.assumed}
        </p>
      ))}
      {sound && sights.length === 0 && (
        <p className="notice">
          {design.blocks < 2
            ? 'One block: no test can be made, whatever the scatter.'
            : 'This leaves nothing to judge the scatter by: no test can be made. Take more blocks.'}
        </p>
      )}
      {rows.length > 0 && (
        <TableHold label="Smallest difference that can be seen">
          <table>
            <caption>Smallest difference seen 8 times in 10, judged as the report will judge</caption>
            <thead>
              <tr>
                <th>{unit === 'blocks' ? 'Blocks' : 'Strips each'}</th>
                {rows.map((row) => (
                  <th key={row.blocks} className="number">
                    {row.blocks}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {sights.map((sight, at) => (
                <tr key={sight.of}>
                  <th>{sights.length > 1 ? `Index, ${sight.of}` : 'Index'}</th>
                  {rows.map((row) => (
                    <td key={row.blocks} className="number">
                      {row.sights[at] ? differenceSeen(row.sights[at], sd).toFixed(3) : '–'}
                    </td>
                  ))}
                </tr>
              ))}
            </tbody>
          </table>
        </TableHold>
      )}
    </div>
  );
}

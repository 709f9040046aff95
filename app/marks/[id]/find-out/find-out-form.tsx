'use client';
import Link from 'next/link';
import { useState } from 'react';
import { ActionForm, useFieldError } from '@/app/_ui/action-form';
import { Field } from '@/app/_ui/field';
import { TableHold } from '@/app/_ui/table-hold';
import { MapKey, StripMap } from '@/app/trials/_parts/strip-map';
import type { FormResult } from '@/lib/forms/result';
import {
  CAUSE_FACTORS,
  causeDesign,
  causeTestProblems,
  combinationsOf,
  sprayOrder,
  UNSPRAYED,
  type CauseFactorId,
} from '@/lib/explain/cause-test';
import { causeBlocks, PLANNED_SHARES } from '@/lib/explain/cause-test-power';
import { drawTrial } from '@/lib/trial/draw-trial';
import { toM } from '@/lib/units/length';

const ABOUT: Record<CauseFactorId, string> = {
  carrier: 'Twice the water, the same products on the ground.',
  iron: 'Half the iron, all else alike.',
  surfactant: 'The same without the surfactant.',
  hour: 'The same later in the evening, so that it dries slower.',
  strength: 'Half the fertiliser salts, the iron alike.',
};

const number = (text: string): number => (text.trim() === '' ? Number.NaN : Number(text.replace(',', '.')));

/** Which things to change, how many blocks, and the layout drawn at once; nothing is kept until it is sent. */
export function FindOutForm({
  action,
  back,
  possible,
  suggested,
  name,
  startsOn,
  seed,
  unit,
  swath,
  photoDays,
  hoursLater,
}: {
  action: (previous: FormResult, data: FormData) => Promise<FormResult>;
  back: string;
  possible: readonly CauseFactorId[];
  suggested: readonly CauseFactorId[];
  name: string;
  startsOn: string;
  seed: number;
  unit: 'm' | 'ft';
  swath: string;
  photoDays: readonly number[];
  hoursLater: number | null;
}) {
  const [ticked, setTicked] = useState<readonly CauseFactorId[]>(suggested);
  const [fraction, setFraction] = useState<'full' | 'half'>('full');
  const [typedBlocks, setBlocks] = useState<string | null>(null);
  const [width, setWidth] = useState(swath);
  const [length, setLength] = useState(unit === 'm' ? '2' : '6');
  const wrongFactors = useFieldError('factors');
  const factors = CAUSE_FACTORS.filter((factor) => ticked.includes(factor.id));
  const half = fraction === 'half' && factors.length === 3 ? 'half' : 'full';
  const power = factors.length > 0 ? causeBlocks(factors.length, half) : [];
  const enough = power.find((one) => one.power >= 0.8)?.blocks ?? power.at(-1)?.blocks ?? 4;
  const blocks = typedBlocks ?? String(enough);
  const problems = causeTestProblems(factors, half, number(blocks));
  const combinations = problems.length === 0 ? combinationsOf(factors, half) : [];
  const sizesGiven = number(width) > 0 && number(length) > 0;
  const inM = (text: string) => toM({ value: number(text), unit });
  const drawn =
    problems.length === 0 && sizesGiven
      ? drawTrial(causeDesign(combinations, number(blocks)), seed, {
          swathM: inM(width),
          passesPerStrip: 1,
          stripLengthM: inM(length),
          bufferM: inM(width) / 2,
          alleyM: inM(width),
        })
      : null;
  const perMetre = unit === 'm' ? 1 : 1 / 0.3048;
  const reached = power.find((one) => one.blocks === number(blocks));
  return (
    <ActionForm
      action={action}
      submit="Lay it out"
      busy="Drawing lots …"
      secondary={
        <Link className="button" href={back}>
          Leave it
        </Link>
      }
    >
      <fieldset>
        <legend>What to change</legend>
        {wrongFactors && <p className="wrong">{wrongFactors}</p>}
        {CAUSE_FACTORS.filter((factor) => possible.includes(factor.id)).map((factor) => (
          <label key={factor.id} className="tick">
            <input
              type="checkbox"
              name={factor.id}
              value="yes"
              checked={ticked.includes(factor.id)}
              onChange={(event) =>
                setTicked(event.target.checked ? [...ticked, factor.id] : ticked.filter((id) => id !== factor.id))
              }
            />
            <span>
              {factor.levels[0]}, or {factor.levels[1]}{' '}
              <span className="soft">
                {ABOUT[factor.id]}
                {factor.id === 'hour' && hoursLater !== null && ` That is ${hoursLater} h later than then.`}
              </span>
            </span>
          </label>
        ))}
        <p className="soft">
          Two things at a time tell most for their strips; a third doubles them, or take half of the combinations.
        </p>
        {factors.length === 3 && (
          <div className="field" style={{ maxWidth: '24rem' }}>
            <label htmlFor="fraction">Combinations</label>
            <select
              id="fraction"
              value={fraction}
              onChange={(event) => setFraction(event.target.value as 'full' | 'half')}
            >
              <option value="full">all eight</option>
              <option value="half">half, four: one thing isn’t told apart from the other two together</option>
            </select>
          </div>
        )}
        <input type="hidden" name="fraction" value={half} />
      </fieldset>
      <fieldset>
        <legend>How much of it</legend>
        <div className="fields">
          <Field name="name" label="Name" defaultValue={name} />
          <Field
            name="startsOn"
            label="First spray"
            type="date"
            defaultValue={startsOn}
            hint="Take weather like that of the spray that made the mark."
          />
          <Typed name="blocks" label="Blocks" value={blocks} onChange={setBlocks} />
          <Typed
            name="swath.value"
            label={`Strip width, ${unit}`}
            value={width}
            onChange={setWidth}
            hint="One pass of the sprayer."
          />
          <Typed name="stripLength.value" label={`Strip length, ${unit}`} value={length} onChange={setLength} />
          <Typed name="originX.value" label={`Near-left stake: right of the lawn’s left stake, ${unit}`} />
          <Typed name="originY.value" label={`and beyond it, ${unit}`} />
          <Field name="where" label="Where" placeholder="Behind the shed, same grass" />
        </div>
        {['swath', 'stripLength', 'originX', 'originY'].map((field) => (
          <input key={field} type="hidden" name={`${field}.unit`} value={unit} />
        ))}
        <input type="hidden" name="seed" value={seed} />
        {power.length > 0 && (
          <>
            <p className="notice notice-good" style={{ marginTop: '1rem' }}>
              With {blocks} blocks a mark that comes back on {PLANNED_SHARES.with * 100} % of the strips as sprayed and
              on {PLANNED_SHARES.without * 100} % with its cause taken away is told{' '}
              {reached ? `${(reached.power * 100).toFixed(0)} times in 100` : 'as the table says'} (exact test of
              presence, 5 %).
            </p>
            <TableHold label="How often a cause is told">
              <table>
                <thead>
                  <tr>
                    <th>Blocks</th>
                    {power.map((one) => (
                      <th key={one.blocks} className="number">
                        {one.blocks}
                      </th>
                    ))}
                  </tr>
                </thead>
                <tbody>
                  <tr>
                    <th>Told</th>
                    {power.map((one) => (
                      <td key={one.blocks} className="number">
                        {(one.power * 100).toFixed(0)} %
                      </td>
                    ))}
                  </tr>
                </tbody>
              </table>
            </TableHold>
          </>
        )}
      </fieldset>
      <section aria-live="polite">
        <h2>Strips, and in which order to spray</h2>
        {problems.map((problem) => (
          <p key={problem} className="notice">
            {problem}
          </p>
        ))}
        {combinations.length > 0 && (
          <ol>
            {sprayOrder(factors, combinations).map((one) => (
              <li key={one}>{one}</li>
            ))}
          </ol>
        )}
        {drawn?.ok && (
          <>
            <StripMap
              id="find-out"
              strips={drawn.map.plots.map((plot) => ({
                key: plot.label,
                label: plot.label,
                treatment: plot.treatment,
                subTreatment: null,
                cornersM: plot.cornersM,
              }))}
              treatments={[
                { name: UNSPRAYED, isCheck: true },
                ...combinations.map((one) => ({ name: one.name, isCheck: false })),
              ]}
              widthM={drawn.map.widthM}
              lengthM={drawn.map.lengthM}
              unit={unit}
              perMetre={perMetre}
            />
            <MapKey
              treatments={[
                { name: UNSPRAYED, isCheck: true, what: 'nothing sprayed' },
                ...combinations.map((one) => ({
                  name: one.name,
                  isCheck: false,
                  what: factors.map((factor, j) => factor.levels[one.levels[j] ?? 0]).join(', '),
                })),
              ]}
            />
            <p className="soft">
              {drawn.map.plots.length} strips, in all {(drawn.map.widthM * perMetre).toFixed(1)} ×{' '}
              {(drawn.map.lengthM * perMetre).toFixed(1)} {unit}, half a strip unsprayed between them.
            </p>
          </>
        )}
        <p className="soft">
          Photos just before, and on days {photoDays.join(', ')} after; then rate the haze blind, strip by strip, before
          looking at any number. The mixes are filled in and wait on the trial’s page.
        </p>
      </section>
    </ActionForm>
  );
}

function Typed({
  name,
  label,
  value,
  onChange,
  hint,
}: {
  name: string;
  label: string;
  value?: string;
  onChange?: (typed: string) => void;
  hint?: string;
}) {
  const wrong = useFieldError(name.replace('.value', ''));
  const id = `find-out-${name}`;
  return (
    <div className="field">
      <label htmlFor={id}>{label}</label>
      <input
        id={id}
        name={name}
        inputMode="decimal"
        autoComplete="off"
        aria-invalid={wrong ? true : undefined}
        {...(onChange
          ? {
              value: value ?? '',
              onChange: (event: React.ChangeEvent<HTMLInputElement>) => onChange(event.target.value),
            }
          : { defaultValue: '' })}
      />
      {(wrong || hint) && <span className={wrong ? 'wrong' : 'hint'}>{wrong ?? hint}</span>}
    </div>
  );
}

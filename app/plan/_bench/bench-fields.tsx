'use client';
import type { ReactNode } from 'react';
import type { FieldFault } from '@/lib/plan/typed-plan';
import type { UnitSystem } from '@/lib/units/display';
import { useFault } from './typed-field';
import { asRead } from '@/lib/units/quantity';

export function PlotBoxes({
  plots,
  ticked,
  onChange,
}: {
  plots: { id: string; label: string }[];
  ticked: readonly string[];
  onChange: (ids: string[]) => void;
}) {
  const wrong = useFault('plotIds');
  return (
    <fieldset aria-invalid={wrong ? true : undefined}>
      <legend>Plots to spray</legend>
      {wrong && <p className="wrong">{wrong}</p>}
      {plots.map((plot) => (
        <label key={plot.id} className="tick">
          <input
            type="checkbox"
            name="plotIds"
            value={plot.id}
            checked={ticked.includes(plot.id)}
            onChange={(event) =>
              onChange(event.target.checked ? [...ticked, plot.id] : ticked.filter((id) => id !== plot.id))
            }
          />
          <span>{plot.label}</span>
        </label>
      ))}
    </fieldset>
  );
}

export function MixWrong() {
  const wrong = useFault('items');
  return wrong ? <p className="wrong">{wrong}</p> : null;
}

/** What the plan waits for: the first few sentences, so that an empty page says what to do next. */
export function Waiting({ faults, system }: { faults: ReadonlyMap<string, FieldFault>; system: UnitSystem }) {
  return (
    <div className="teach">
      <h2>Amounts and checks appear here</h2>
      <ul>
        {[...faults.values()].slice(0, 4).map((fault) => (
          <li key={fault.field}>{asRead(fault.sentence, system)}</li>
        ))}
      </ul>
    </div>
  );
}

export function ReasonField({
  over,
  value,
  onChange,
}: {
  over: readonly string[];
  value: string;
  onChange: (value: string) => void;
}): ReactNode {
  const wrong = useFault('overLimitReason');
  if (over.length === 0) return <input type="hidden" name="overLimitReason" value={value} />;
  return (
    <div className="notice notice-bad">
      <div className="field">
        <label htmlFor="reason">Why against the label?</label>
        <span className="hint" id="reason-hint">
          The label is the law. {over.join(' ')} The reason is written into the record.
        </span>
        <textarea
          id="reason"
          name="overLimitReason"
          rows={2}
          value={value}
          onChange={(event) => onChange(event.target.value)}
          aria-describedby="reason-hint"
          aria-invalid={wrong ? true : undefined}
        />
        {wrong && <span className="wrong">{wrong}</span>}
      </div>
    </div>
  );
}

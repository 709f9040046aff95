'use client';
import { useFieldError } from '@/app/_ui/action-form';
import { Tick } from '@/app/_ui/field';

export function PlotTicks({ plots }: { plots: { id: string; label: string; ticked: boolean }[] }) {
  const wrong = useFieldError('plotIds');
  return (
    <fieldset aria-invalid={wrong ? true : undefined}>
      <legend>Plots sprayed</legend>
      {wrong && <p className="wrong">{wrong}</p>}
      {plots.map((plot) => (
        <Tick key={plot.id} name="plotIds" value={plot.id} label={plot.label} defaultChecked={plot.ticked} />
      ))}
    </fieldset>
  );
}

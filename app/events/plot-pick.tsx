'use client';
import { useDraft, useFieldError } from '@/app/_ui/action-form';
import { Tick } from '@/app/_ui/field';

/** Where: the whole lawn unless plots are ticked. */
export function PlotPick({ plots }: { plots: { id: string; label: string; ticked: boolean }[] }) {
  const wrong = useFieldError('plotIds');
  const wasTicked = useDraft()?.some(([name]) => name === 'plotIds') ?? false;
  if (plots.length === 0) return null;
  return (
    <details open={plots.some((plot) => plot.ticked) || wasTicked || wrong !== undefined}>
      <summary>Only on some plots</summary>
      {wrong && <p className="wrong">{wrong}</p>}
      <p className="soft">None ticked: the whole lawn.</p>
      <div className="row">
        {plots.map((plot) => (
          <Tick key={plot.id} name="plotIds" value={plot.id} label={plot.label} defaultChecked={plot.ticked} />
        ))}
      </div>
    </details>
  );
}

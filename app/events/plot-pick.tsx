'use client';
import { useDraft, useFieldError } from '@/app/_ui/action-form';
import { Tick } from '@/app/_ui/field';

/** Where: the whole lawn unless plots are ticked. */
export function PlotPick({
  plots,
  binned,
}: {
  plots: { id: string; label: string; ticked: boolean }[];
  /** How many plots it was on lie in the bin: it stays on them. */
  binned: number;
}) {
  const wrong = useFieldError('plotIds');
  const wasTicked = useDraft()?.some(([name]) => name === 'plotIds') ?? false;
  if (plots.length === 0) return null;
  return (
    <details open={plots.some((plot) => plot.ticked) || binned > 0 || wasTicked || wrong !== undefined}>
      <summary>Only on some plots</summary>
      {wrong && <p className="wrong">{wrong}</p>}
      <p className="soft">
        {binned > 0
          ? `${binned === 1 ? 'One plot' : `${binned} plots`} it was on ${binned === 1 ? 'is' : 'are'} in the bin; it stays there.`
          : 'None ticked: the whole lawn.'}
      </p>
      <div className="row">
        {plots.map((plot) => (
          <Tick key={plot.id} name="plotIds" value={plot.id} label={plot.label} defaultChecked={plot.ticked} />
        ))}
      </div>
    </details>
  );
}

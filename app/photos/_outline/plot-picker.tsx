import type { Picked } from './outline-steps';

export interface PickerPlot {
  id: string;
  name: string;
  isCheck: boolean;
}

const same = (a: Picked, b: Picked) => JSON.stringify(a) === JSON.stringify(b);

/** What can be outlined: what this viewpoint or trial has in one line, the likeliest first; everything else folded away. */
export function PlotPicker({
  likely,
  more,
  boards,
  trials,
  outlined,
  picked,
  onPick,
}: {
  likely: readonly PickerPlot[];
  more: readonly { title: string; plots: readonly PickerPlot[] }[];
  boards: readonly PickerPlot[];
  trials: readonly { id: string; name: string; strips: readonly { plotId: string }[] }[];
  outlined: ReadonlySet<string>;
  picked: Picked;
  onPick: (picked: Picked) => void;
}) {
  const choice = (what: Picked, words: string) => (
    <button key={words} type="button" role="radio" aria-checked={same(what, picked)} className={same(what, picked) ? 'button-main' : ''} onClick={() => onPick(what)}>
      {words}
    </button>
  );
  const plot = ({ id, name, isCheck }: PickerPlot) => choice({ kind: 'plot', plotId: id }, `${name}${isCheck ? ' (check)' : ''}${outlined.has(id) ? ' ✓' : ''}`);
  const byStakes = (trial: (typeof trials)[number]) => choice({ kind: 'stakes', trialId: trial.id }, `${trial.name}: all ${trial.strips.length} strips by four stakes`);
  const isDone = (trial: (typeof trials)[number]) => trial.strips.every((strip) => outlined.has(strip.plotId));
  const inMore = picked.kind === 'plot' && [...boards, ...more.flatMap((group) => group.plots)].some((one) => one.id === picked.plotId);
  return (
    <div role="radiogroup" aria-label="What to outline">
      <div className="picker">
        {outlined.size > 1 && choice({ kind: 'all' }, 'Move all together')}
        {trials.filter((trial) => !isDone(trial)).map(byStakes)}
        {likely.map(plot)}
        {trials.filter(isDone).map(byStakes)}
      </div>
      <details className="picker-more" open={inMore || undefined}>
        <summary>{more.length > 0 ? 'Other plots, grey card, colour chart' : 'Grey card, colour chart'}</summary>
        <div className="row">{boards.map(plot)}</div>
        {more.map((group) => (
          <div key={group.title}>
            <div className="soft">{group.title}</div>
            <div className="row">{group.plots.map(plot)}</div>
          </div>
        ))}
      </details>
    </div>
  );
}

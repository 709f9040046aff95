import type { KeyboardEvent } from 'react';
import { checkName } from '@/app/_ui/change-text';
import type { Picked } from './outline-steps';

export interface PickerPlot {
  id: string;
  name: string;
  isCheck: boolean;
}

const same = (a: Picked, b: Picked) => JSON.stringify(a) === JSON.stringify(b);

/**
 * What can be outlined: what this viewpoint or trial has in one line, the likeliest first; everything else folded away.
 */
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
    <button
      key={words}
      type="button"
      role="radio"
      aria-checked={same(what, picked)}
      tabIndex={same(what, picked) || picked.kind === 'nothing' ? 0 : -1}
      className={same(what, picked) ? 'button-main' : ''}
      onClick={() => onPick(what)}
    >
      {words}
    </button>
  );
  const plot = ({ id, name, isCheck }: PickerPlot) =>
    choice({ kind: 'plot', plotId: id }, `${isCheck ? checkName(name) : name}${outlined.has(id) ? ' ✓' : ''}`);
  const byStakes = (trial: (typeof trials)[number]) =>
    choice({ kind: 'stakes', trialId: trial.id }, `${trial.name}: all ${trial.strips.length} strips by four stakes`);
  const isDone = (trial: (typeof trials)[number]) => trial.strips.every((strip) => outlined.has(strip.plotId));
  const inMore =
    picked.kind === 'plot' &&
    [...boards, ...more.flatMap((group) => group.plots)].some((one) => one.id === picked.plotId);
  return (
    <div role="radiogroup" aria-label="What to outline" onKeyDown={moveByArrows}>
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

const STEPS: Readonly<Record<string, number>> = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 };

/**
 * As in any group of radio buttons: an arrow key picks the next or the one before, round the ends; what is folded away
 * is passed over.
 */
function moveByArrows(event: KeyboardEvent<HTMLDivElement>): void {
  const by = STEPS[event.key];
  if (by === undefined || !(event.target instanceof HTMLElement) || event.target.getAttribute('role') !== 'radio')
    return;
  event.preventDefault();
  const all = [...event.currentTarget.querySelectorAll<HTMLElement>('[role="radio"]')].filter((one) =>
    one.checkVisibility(),
  );
  const next = all[(all.indexOf(event.target) + by + all.length) % all.length];
  next?.focus();
  next?.click();
}

import type { Metadata } from 'next';
import { headers } from 'next/headers';
import Link from 'next/link';
import { saysCheck } from '@/app/_ui/change-text';
import { currentLawn } from '@/app/_ui/current-lawn';
import { FocusWhenGrown } from '@/app/_ui/focus-when-grown';
import { listLawns } from '@/lib/diary/lawns';
import { listPlots } from '@/lib/diary/plots';
import { listSprayers } from '@/lib/diary/sprayers';
import { unitsOfLanguages } from '@/lib/units/first-guess';
import { showArea, showLiquidRate, showVolume } from '@/lib/units/display';
import { chooseLawn, removePlot } from './actions';
import { FirstLawnForm } from './first-lawn-form';
import { LawnForm } from './lawn-form';
import { PlotForm } from './plot-form';
import { SprayerForm } from './sprayer-form';
import { Rights } from '@/app/_ui/rights';
import { lawnsToSee, mayDo } from '@/lib/work/people/rights';
import { NoLawn } from '../diary/no-lawn';

export const metadata: Metadata = { title: 'Lawn' };

export default async function LawnPage({ searchParams }: { searchParams: Promise<{ new?: string }> }) {
  const wantsNew = (await searchParams).new !== undefined;
  const lawn = wantsNew ? null : await currentLawn();
  if (!lawn && !(await mayDo('keeps', 'diary'))) return <NoLawn />;
  if (!lawn) {
    return (
      <>
        <h1>{wantsNew ? 'Another lawn' : 'Set up your lawn'}</h1>
        <p>
          The name, the units and the time zone are enough to begin. The plots’ size and the sprayer make tank amounts
          come out right; what you leave empty can be given later.
        </p>
        <div className="sheet">
          <FirstLawnForm guess={unitsOfLanguages((await headers()).get('accept-language') ?? '')} />
        </div>
      </>
    );
  }
  const [lawns, plots, sprayers] = await Promise.all([
    listLawns().then(lawnsToSee),
    listPlots(lawn.id),
    listSprayers(lawn.id),
  ]);
  const system = lawn.unitSystem;
  return (
    <>
      <Rights lawnId={lawn.id} forms="keeps" />
      <div className="row row-end">
        <h1>{lawn.name}</h1>
        <form action={chooseLawn} className="row for-all">
          {lawns.length > 1 && (
            <>
              <select name="lawn" defaultValue={lawn.id} aria-label="Lawn" style={{ width: 'auto' }}>
                {lawns.map((entry) => (
                  <option key={entry.id} value={entry.id}>
                    {entry.name}
                  </option>
                ))}
              </select>
              <button type="submit" className="button-plain">
                Go to it
              </button>
            </>
          )}
          <Link className="button" href="/lawn?new">
            Another lawn
          </Link>
        </form>
      </div>
      <section className="sheet" id="plots">
        <h2>Plots</h2>
        <p className="soft">
          A plot is one piece of ground that gets one treatment. Leave one plot unsprayed as the check: light changes
          from photo to photo, and only the difference to the check in the same photo says what the spray did.
        </p>
        {plots.map((plot) => (
          <details key={plot.id} className="sheet">
            <summary>
              <strong>{plot.name}</strong>{' '}
              {plot.isCheck && !saysCheck(plot.name) && <span className="chip chip-on">check</span>}{' '}
              <span className="soft">{showArea(plot.areaM2, system).text}</span>
            </summary>
            <PlotForm lawnId={lawn.id} plot={plot} others={plots} system={system} />
            <form action={removePlot} style={{ marginTop: '1rem' }}>
              <input type="hidden" name="id" value={plot.id} />
              <button type="submit" className="button-warn">
                Move plot {plot.name} to the bin
              </button>
            </form>
          </details>
        ))}
        <details className="sheet for-keeps" open={plots.length === 0}>
          <summary>Add a plot</summary>
          <FocusWhenGrown count={plots.length} />
          <PlotForm key={plots.length} lawnId={lawn.id} plot={null} others={plots} system={system} />
        </details>
      </section>
      <section className="sheet" id="sprayers">
        <h2>Sprayer</h2>
        {sprayers.map((sprayer) => (
          <details key={sprayer.id} className="sheet">
            <summary>
              <strong>{sprayer.name}</strong>{' '}
              <span className="soft">
                {showVolume(sprayer.tankL, system).text} tank
                {sprayer.carrierLPerHa !== null && `, ${showLiquidRate(sprayer.carrierLPerHa, system).text} of water`}
              </span>
            </summary>
            <SprayerForm lawnId={lawn.id} sprayer={sprayer} system={system} />
          </details>
        ))}
        <details className="sheet for-keeps" open={sprayers.length === 0}>
          <summary>Add a sprayer</summary>
          <FocusWhenGrown count={sprayers.length} />
          <SprayerForm key={sprayers.length} lawnId={lawn.id} sprayer={null} system={system} />
        </details>
      </section>
      <section className="sheet">
        <h2>The lawn itself</h2>
        <LawnForm lawn={lawn} />
      </section>
    </>
  );
}

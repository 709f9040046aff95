import type { Metadata } from 'next';
import Link from 'next/link';
import { notFound, redirect } from 'next/navigation';
import { momentText } from '@/lib/units/dates';
import { findLawn } from '@/lib/diary/lawns';
import { findSpray } from '@/lib/diary/sprays';
import { readTypedPlan } from '@/lib/plan/typed-plan';
import { showArea } from '@/lib/units/display';
import { keptPlan } from '@/lib/work/sprays/keep-plan';
import { planWindow } from '@/lib/work/weather/plan-window';
import { WeatherSection } from '@/app/sprays/[id]/weather-section';
import { ChemistrySummary } from '../_bench/chemistry';
import { dropPlan } from '../actions';
import { ForgetDraft } from '../_bench/forget-draft';
import { PlanResult } from '../_bench/plan-result';
import { WindowLine } from '../_bench/window-line';
import { DoneForm } from './done-form';
import { askPage, Rights } from '@/app/_ui/rights';

export const metadata: Metadata = { title: 'A plan' };

export default async function PlanPage({
  params,
  searchParams,
}: {
  params: Promise<{ id: string }>;
  searchParams: Promise<{ kept?: string | string[] }>;
}) {
  await askPage('looks', { spray: (await params).id });
  const spray = await findSpray((await params).id);
  const lawn = spray ? await findLawn(spray.lawnId) : null;
  if (!spray || !lawn) notFound();
  if (spray.state === 'done') redirect(`/sprays/${spray.id}`);
  const kept = keptPlan(spray);
  if (!kept) notFound();
  const { wish } = readTypedPlan(kept.typed);
  const { kept: draftKey } = await searchParams;
  const window = await planWindow(
    lawn,
    spray.startedAt,
    kept.result.carrierLPerHa,
    wish ?? { airTempC: null, relHumidityPercent: null, windMPerS: null },
  );
  const system = lawn.unitSystem;
  return (
    <>
      <Rights lawnId={lawn.id} />
      {typeof draftKey === 'string' && draftKey.startsWith('draft:plan-') && <ForgetDraft draftKey={draftKey} />}
      <div className="row row-end">
        <h1>Plan for {momentText(spray.startedAt, lawn)}</h1>
        <div className="row">
          <Link className="button button-main" href={`/plan/${spray.id}/card`}>
            Tank card
          </Link>
          <Link className="button" href={`/plan/${spray.id}/edit`}>
            Change
          </Link>
        </div>
      </div>
      <p>
        {kept.result.plots.map((plot) => (
          <span key={plot.id} className="chip">
            {plot.name} · {showArea(plot.areaM2, system).text}
          </span>
        ))}
      </p>
      {spray.overLimitReason && (
        <p className="notice notice-bad">
          <strong>Past a label limit, on purpose:</strong> {spray.overLimitReason}
        </p>
      )}
      {spray.note && <p>{spray.note}</p>}
      <PlanResult plan={kept.result} system={system}>
        <section className="sheet" aria-labelledby="chemistry">
          <h2 id="chemistry">Water and pH</h2>
          <ChemistrySummary
            plan={kept.result}
            targetPh={wish?.targetPH ?? null}
            acidAir={wish?.acidAir ?? 'closed'}
            jarPh={wish?.jarPH ?? null}
            system={system}
          />
          <h3>Window</h3>
          <p>
            <WindowLine window={window} reader={lawn} />
          </p>
        </section>
      </PlanResult>
      <WeatherSection
        lawn={lawn}
        spray={{
          ...spray,
          ...(wish
            ? {
                airTempC: wish.airTempC,
                relHumidityPercent: wish.relHumidityPercent,
                windMPerS: wish.windMPerS,
                weatherSource: 'typed',
              }
            : {}),
        }}
      />
      <section className="sheet" aria-labelledby="done">
        <h2 id="done">It was sprayed</h2>
        <p className="soft">What you leave empty went out as planned. One press writes it into the diary.</p>
        <DoneForm spray={spray} kept={kept} lawn={lawn} now={new Date()} />
      </section>
      <form action={dropPlan}>
        <input type="hidden" name="id" value={spray.id} />
        <button type="submit" className="button-warn">
          Move the plan to the bin
        </button>
      </form>
    </>
  );
}

import type { Metadata } from 'next';
import Link from 'next/link';
import { notFound } from 'next/navigation';
import { momentText } from '@/lib/units/dates';
import { findLawn } from '@/lib/diary/lawns';
import { findSpray } from '@/lib/diary/sprays';
import { readPaper } from '@/lib/forms/queries/paper-query';
import { measuredOut } from '@/lib/plan/measure-out';
import type { SprayPlan } from '@/lib/plan/spray-plan';
import { readTypedPlan } from '@/lib/plan/typed-plan';
import type { CheckCode } from '@/lib/spray/check';
import { CAUTIONS } from '@/lib/spray/cautions';
import { showArea, showLength, showLiquidRate, showSpeed, showVolume, type UnitSystem } from '@/lib/units/display';
import { keptPlan } from '@/lib/work/sprays/keep-plan';
import { planWindow } from '@/lib/work/weather/plan-window';
import { distinctLoads } from '../../_bench/amounts';
import { walkTimeText } from '../../_bench/walk';
import { WindowLine } from '../../_bench/window-line';
import { Checklist, type CardLoad } from './checklist';
import { PrintButton } from '@/app/_ui/print-button';
import { asRead } from '@/lib/units/quantity';
import { askPage } from '@/app/_ui/rights';

export const metadata: Metadata = { title: 'Tank card' };

/** What a label wants kept after the spray belongs on the card, though nothing is wrong. */
const TO_KEEP: ReadonlySet<CheckCode> = new Set([
  'label-rainfast',
  'label-watering',
  'label-mowing',
  're-entry',
] as const);

/** The steps of one filling: mixing order, each product with its amount. */
function cardLoads(plan: SprayPlan, system: UnitSystem): CardLoad[] {
  return distinctLoads(plan).map(({ title, recipe }) => ({
    title,
    mark: showVolume(recipe.load.volumeL, system).text,
    area: showArea(recipe.load.areaM2, system).text,
    steps: plan.sheet.order.map((step) => ({
      instruction: step.instruction,
      reason: step.reason,
      amounts: step.products.map((name) => {
        const place = plan.items.findIndex((item) => item.name === name);
        const item = plan.items[place];
        const out = measuredOut(recipe.amounts[place] ?? { massKg: null, volumeL: null }, item?.form ?? 'dry', system);
        return { name, text: out.text, exact: `${out.exact}${out.other ? ` · ${out.other}` : ''}`, advice: out.advice };
      }),
    })),
  }));
}

export default async function CardPage({
  params,
  searchParams,
}: {
  params: Promise<{ id: string }>;
  searchParams: Promise<Record<string, string | string[] | undefined>>;
}) {
  await askPage('looks', { spray: (await params).id });
  const spray = await findSpray((await params).id);
  const lawn = spray ? await findLawn(spray.lawnId) : null;
  const kept = spray ? keptPlan(spray) : null;
  if (!spray || !lawn || !kept) notFound();
  const paper = readPaper(await searchParams, lawn.unitSystem);
  const plan = kept.result;
  const system = lawn.unitSystem;
  const { wish } = readTypedPlan(kept.typed);
  const window = await planWindow(
    lawn,
    spray.startedAt,
    plan.carrierLPerHa,
    wish ?? { airTempC: null, relHumidityPercent: null, windMPerS: null },
  );
  const warnings = plan.checks.filter(
    (check) => check.level === 'over-label' || check.level === 'caution' || TO_KEEP.has(check.code),
  );
  const ph = wish?.jarPH ?? (plan.chemistry.tank?.kind === 'predicted' ? plan.chemistry.tank.closed.pH : null);
  return (
    <article className={`tank-card on-${paper}`}>
      <div className="row no-print">
        <PrintButton main />
        {(['a4', 'a5', 'letter'] as const).map((size) => (
          <Link key={size} className="chip" aria-current={paper === size} href={`/plan/${spray.id}/card?paper=${size}`}>
            {size === 'letter' ? 'Letter' : size.toUpperCase()}
          </Link>
        ))}
        <Link className="button" href={spray.state === 'done' ? `/sprays/${spray.id}` : `/plan/${spray.id}`}>
          Back to the {spray.state === 'done' ? 'spray' : 'plan'}
        </Link>
      </div>
      <header className="card-head">
        <h1>Tank card · {momentText(spray.startedAt, lawn)}</h1>
        <p>
          <strong>{plan.plots.map((plot) => plot.name).join(', ')}</strong> · {showArea(plan.areaM2, system).text} ·{' '}
          {showLiquidRate(plan.carrierLPerHa, system).text} · {plan.sheet.recipes.length}{' '}
          {plan.sheet.recipes.length === 1 ? 'tank' : 'tanks'}
        </p>
      </header>
      {(warnings.length > 0 || spray.overLimitReason) && (
        <section className="card-warn">
          <h2>Watch out</h2>
          <ul>
            {warnings.map((check) => (
              <li key={`${check.code}-${check.sentence}`}>
                {check.level === 'over-label' && <strong>Against the label. </strong>}
                {asRead(check.sentence, system)} {check.fix}
              </li>
            ))}
            {spray.overLimitReason && <li>Reason given: {spray.overLimitReason}</li>}
          </ul>
        </section>
      )}
      <Checklist cardId={spray.id} loads={cardLoads(plan, system)} />
      <section>
        <h2>Walk</h2>
        {plan.walk === null ? (
          <p>Passes not known: the sprayer’s swath and pace are missing.</p>
        ) : (
          <p>
            {plan.walk.plots
              .map((plot) =>
                plot.passes === null
                  ? `${plot.name}: ${showLength(plot.distanceM, system, 2).text}`
                  : `${plot.name}: ${plot.passes} × ${showLength(plot.distanceM / plot.passes, system, 2).text}`,
              )
              .join(' · ')}{' '}
            · pace {showSpeed(plan.walk.speedMPerS, system, 'km/h').text} · {walkTimeText(plan.walk.seconds)}
          </p>
        )}
        <h2>Window</h2>
        <p>
          <WindowLine window={window} reader={lawn} />
        </p>
        <p>
          pH of the mix: {ph === null ? 'measure it' : `about ${ph.toFixed(1)}; measured`} <span className="blank" />
        </p>
      </section>
      <section className="card-warn">
        <h2>Cautions</h2>
        <ul>
          {[
            ...CAUTIONS,
            ...plan.items.flatMap((item) => item.cautions.map((caution) => `${item.name}: ${caution}`)),
          ].map((caution) => (
            <li key={caution}>{caution}</li>
          ))}
        </ul>
      </section>
      <section className="card-notes print-only">
        <p>
          Started <span className="blank" /> Ended <span className="blank" /> Left over <span className="blank" /> Wind{' '}
          <span className="blank" />
        </p>
      </section>
    </article>
  );
}

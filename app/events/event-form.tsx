import Link from 'next/link';
import { ActionForm } from '@/app/_ui/action-form';
import { eventKindWords, productUseWords, renovationWords, sightingWords, trafficWords } from '@/app/_ui/event-words';
import { AmountField, Choose, Field, TextArea, Tick } from '@/app/_ui/field';
import { unitChoices } from '@/app/_ui/unit-choices';
import type { EventRow } from '@/lib/diary/lawn-events';
import type { Lawn } from '@/lib/diary/lawns';
import type { Plot } from '@/lib/diary/plots';
import type { LawnEventKind } from '@/lib/trial/lawn-event';
import { fromM } from '@/lib/units/length';
import { isDryAreaRate, isLiquidAreaRate, type Rate } from '@/lib/units/rate';
import { localOfInstant } from '@/lib/work/diary/lawn-time';
import { saveEvent } from './actions';
import { PlotPick } from './plot-pick';

const choices = <T extends string>(words: Record<T, string>) =>
  Object.entries<string>(words).map(([value, label]) => ({
    value,
    label: label.slice(0, 1).toUpperCase() + label.slice(1),
  }));

/** One short entry: what it was, when, where. What was said the last time of this kind stands there already. */
export function EventForm({
  lawn,
  plots,
  products,
  kind,
  event,
  plotId = null,
  last,
  now,
}: {
  lawn: Lawn;
  plots: readonly Plot[];
  products: readonly { id: string; name: string }[];
  kind: LawnEventKind;
  event: EventRow | null;
  /** Of a new one: the plot it is ticked for. */
  plotId?: string | null;
  /** The last one of this kind: its height of cut is offered again. */
  last: EventRow | null;
  now: Date;
}) {
  return (
    <ActionForm
      action={saveEvent.bind(null, lawn.id, event?.id ?? null)}
      submit={event ? 'Save the entry' : `Write down: ${eventKindWords[kind].toLowerCase()}`}
      draftKey={event ? `event-${event.id}` : `event-new-${lawn.id}-${kind}`}
      secondary={
        <Link className="button" href="/">
          Leave it
        </Link>
      }
    >
      <input type="hidden" name="kind" value={kind} />
      <div className="fields">
        <Field
          name="atLocal"
          label="When"
          type="datetime-local"
          defaultValue={localOfInstant(event?.at ?? now, lawn.timeZone)}
          hint={`Local time, ${lawn.timeZone}`}
        />
        <KindFields lawn={lawn} products={products} kind={kind} event={event} last={last} />
      </div>
      <PlotPick
        plots={plots.map((plot) => ({
          id: plot.id,
          label: plot.name,
          ticked: event?.plotIds.includes(plot.id) ?? plot.id === plotId,
        }))}
        binned={event?.plotIds.filter((id) => plots.every((plot) => plot.id !== id)).length ?? 0}
      />
      <TextArea name="note" label="Note" defaultValue={event?.note ?? ''} />
    </ActionForm>
  );
}

function KindFields({
  lawn,
  products,
  kind,
  event,
  last,
}: {
  lawn: Lawn;
  products: readonly { id: string; name: string }[];
  kind: LawnEventKind;
  event: EventRow | null;
  last: EventRow | null;
}) {
  const system = lawn.unitSystem;
  const own = event?.kind === kind ? event : null;
  const typed = own?.typed;
  switch (kind) {
    case 'mowing': {
      const mown = own?.kind === 'mowing' ? own : null;
      const unit = system === 'metric' ? 'mm' : 'in';
      const usualMm = last?.kind === 'mowing' ? last.heightMm : null;
      const usual = usualMm ?? lawn.mowingHeightMm;
      const offered = usual === null ? null : Number(fromM(usual / 1000, unit).value.toPrecision(4));
      return (
        <>
          <AmountField
            name="height"
            label="Height of cut"
            units={unitChoices('mowing', system)}
            defaultValue={event ? typed?.mowingHeight?.value : offered}
            defaultUnit={(event ? typed?.mowingHeight?.unit : unit) ?? unit}
          />
          <Field
            name="directionDeg"
            label="Passes along, degrees"
            numeric
            defaultValue={mown?.directionDeg}
            hint="By the compass: 0 north and south, 90 east and west. For the stripes."
          />
          <Tick
            name="bladeSharpened"
            label="The blade was sharpened before"
            defaultChecked={mown?.bladeSharpened ?? false}
          />
        </>
      );
    }
    case 'watering':
    case 'rain':
      return (
        <>
          <AmountField
            name="water"
            label={kind === 'rain' ? 'Rain, if you measured it' : 'Depth, if you know it'}
            units={unitChoices('water', system)}
            defaultValue={typed?.water?.value}
            defaultUnit={typed?.water?.unit}
          />
          {kind === 'watering' && (
            <Field
              name="minutes"
              label="Minutes"
              numeric
              defaultValue={own?.kind === 'watering' ? own.minutes : undefined}
            />
          )}
        </>
      );
    case 'product': {
      const spread = own?.kind === 'product' ? own : null;
      const perArea = [...unitChoices('dryRate', system), ...unitChoices('liquidRate', system)].filter(
        ({ value }) =>
          isDryAreaRate({ value: 1, unit: value } as Rate) || isLiquidAreaRate({ value: 1, unit: value } as Rate),
      );
      return (
        <>
          <Choose name="use" label="What for" choices={choices(productUseWords)} defaultValue={spread?.use} />
          <Choose
            name="productId"
            label="From the shelf"
            choices={[
              { value: '', label: 'Not on the shelf' },
              ...products.map((product) => ({ value: product.id, label: product.name })),
            ]}
            defaultValue={spread?.productId ?? ''}
          />
          <Field
            name="name"
            label="Or its name"
            defaultValue={spread && spread.productId === null ? spread.name : ''}
            hint="What is on the shelf counts in the season’s nutrients and label checks."
          />
          <AmountField
            name="rate"
            label="Rate"
            units={perArea}
            defaultValue={typed?.rate?.value}
            defaultUnit={typed?.rate?.unit}
          />
        </>
      );
    }
    case 'traffic':
      return (
        <>
          <Choose
            name="traffic"
            label="What"
            choices={choices(trafficWords)}
            defaultValue={own?.kind === 'traffic' ? own.traffic : undefined}
          />
          <Field name="name" label="In your words" defaultValue={own?.kind === 'traffic' ? own.name : ''} />
        </>
      );
    case 'sighting': {
      const seen = own?.kind === 'sighting' ? own : null;
      return (
        <>
          <Choose name="seen" label="What" choices={choices(sightingWords)} defaultValue={seen?.seen} />
          <Field
            name="name"
            label="What it looks like"
            defaultValue={seen?.name}
            placeholder="Straw spots the size of a coin"
          />
          <Field name="sharePercent" label="Share of the ground, %" numeric defaultValue={seen?.sharePercent} />
        </>
      );
    }
    case 'renovation':
      return (
        <Choose
          name="done"
          label="What was done"
          choices={choices(renovationWords)}
          defaultValue={own?.kind === 'renovation' ? own.done : undefined}
        />
      );
  }
}

import 'server-only';

export interface PlanAddress {
  plotIds: readonly string[];
  items: readonly { productId: string; rateEnteredValue: number; rateEnteredUnit: string }[];
  carrier?: { value: number | null; unit: string | null };
  /** Planned start by the lawn's clock, 2026-05-01T19:40. */
  startedLocal?: string | null;
}

/**
 * The page of a new plan filled in: `plots` a comma list of plot ids, `items` a comma list of productId:value:unit,
 * `carrier` value:unit, `start` a local time.
 */
export function planAddress({ plotIds, items, carrier, startedLocal }: PlanAddress): string {
  const query = new URLSearchParams();
  if (plotIds.length > 0) query.set('plots', plotIds.join(','));
  if (items.length > 0)
    query.set(
      'items',
      items
        .map((item) => `${item.productId}:${Number(item.rateEnteredValue.toPrecision(6))}:${item.rateEnteredUnit}`)
        .join(','),
    );
  if (carrier && carrier.value !== null && carrier.unit !== null)
    query.set('carrier', `${Number(carrier.value.toPrecision(6))}:${carrier.unit}`);
  if (startedLocal) query.set('start', startedLocal);
  return `/plan/new?${query.toString()}`;
}

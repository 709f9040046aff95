import type { Choice } from '@/app/_ui/field';
import { showLiquidRate, significant, type UnitSystem } from '@/lib/units/display';
import { fromLPerHa } from '@/lib/units/rate';

/** A carrier volume in the units labels and sprayers are spoken of in. */
export function CarrierLine({
  carrierLPerHa,
  system,
  sprayers,
  keep,
}: {
  carrierLPerHa: number;
  system: UnitSystem;
  sprayers: readonly Choice[];
  keep: (data: FormData) => Promise<void>;
}) {
  const unit = system === 'metric' ? 'L/100m2' : 'us-gal/1000ft2';
  return (
    <>
      <p>
        Carrier volume <strong>{showLiquidRate(carrierLPerHa, system).text}</strong> (
        {system === 'metric'
          ? `${significant(carrierLPerHa)} L/ha`
          : `${significant(fromLPerHa(carrierLPerHa, 'us-gal/acre').value)} gal/acre`}
        ).
      </p>
      {sprayers.map((sprayer) => (
        <form key={sprayer.value} action={keep}>
          <input type="hidden" name="id" value={sprayer.value} />
          <input type="hidden" name="carrier.value" value={significant(fromLPerHa(carrierLPerHa, unit).value, 4)} />
          <input type="hidden" name="carrier.unit" value={unit} />
          <button type="submit" className="button-main">
            Keep it for {sprayer.label}
          </button>
        </form>
      ))}
    </>
  );
}

import type { Trial } from '@/lib/diary/trials';
import { showLength, showTyped, unitLabel, type UnitSystem } from '@/lib/units/display';
import { MapKey, StripMap } from './strip-map';

/** A laid-out trial's strip map with its key. */
export function TrialMapView({
  id,
  trial,
  system,
  stakes = false,
}: {
  id: string;
  trial: Trial;
  system: UnitSystem;
  stakes?: boolean;
}) {
  const unit = system === 'metric' ? 'm' : 'ft';
  const perMetre = system === 'metric' ? 1 : 1 / 0.3048;
  const nameOf = (treatmentId: string | null) =>
    trial.treatments.find((treatment) => treatment.id === treatmentId)?.name ?? null;
  const { layout } = trial;
  return (
    <>
      <StripMap
        id={id}
        strips={trial.plots.flatMap((plot) => {
          const strip = layout.strips.find((one) => one.plotId === plot.plotId);
          return strip
            ? [
                {
                  key: plot.plotId,
                  label: strip.label,
                  treatment: nameOf(plot.treatmentId) ?? '',
                  subTreatment: nameOf(plot.subTreatmentId),
                  cornersM: strip.cornersM,
                },
              ]
            : [];
        })}
        treatments={trial.treatments}
        widthM={layout.widthM}
        lengthM={layout.lengthM}
        unit={unit}
        perMetre={perMetre}
        stakes={stakes ? layout.stakes : []}
      />
      <MapKey
        treatments={trial.treatments.map((treatment) => ({
          name: treatment.name,
          isCheck: treatment.isCheck,
          what:
            treatment.items
              .map(
                (item) =>
                  `${item.product.name} ${showTyped({ value: item.rateEnteredValue, unit: item.rateEnteredUnit }, system).text}`,
              )
              .join(', ') || 'nothing sprayed',
        }))}
      />
      <p className="soft">
        {layout.bufferM !== null && `Unsprayed buffer between strips ${showLength(layout.bufferM, system).text}`}
        {layout.swathM !== null && `, from a swath of ${showLength(layout.swathM, system).text}`}
        {layout.passesPerStrip !== null &&
          `, ${layout.passesPerStrip} ${layout.passesPerStrip === 1 ? 'pass' : 'passes'} a strip`}
        {(layout.bufferM !== null || layout.swathM !== null) && '. '}Scale in {unitLabel(unit)}.
      </p>
    </>
  );
}

import { How } from '@/app/_ui/how';
import type { SprayPlan } from '@/lib/plan/spray-plan';
import type { AcidDose, NoDose } from '@/lib/water/acid-dose';
import { measuredOut } from '@/lib/plan/measure-out';
import { showAlkalinity, showConcentration, showVolume, significant, type UnitSystem } from '@/lib/units/display';
import { asRead } from '@/lib/units/quantity';

/** A dose for a volume of mix, by weight, and by volume only where a density is given. */
function doseText(dose: AcidDose, form: 'liquid' | 'dry', volumeL: number, system: UnitSystem): string {
  const amount = {
    massKg: dose.amount.massKg * volumeL,
    volumeL: dose.amount.volumeL === null ? null : dose.amount.volumeL * volumeL,
  };
  const out = measuredOut(amount, form, system);
  return `${out.exact}${out.other ? ` (${out.other})` : ''}`;
}

/** What the water asks for, what the mix comes to, and why. The figures are worked out for 25 °C. */
export function ChemistrySummary({
  plan,
  targetPh,
  acidAir,
  jarPh,
  system,
}: {
  plan: SprayPlan;
  targetPh: number | null;
  acidAir: 'closed' | 'open';
  jarPh: number | null;
  system: UnitSystem;
}) {
  const { chemistry, acidItem } = plan;
  const { tank, waterDose, waterDoseOpen, acid } = chemistry;
  const mixL = plan.sheet.tanks.totalMixL + plan.sheet.tanks.reserveL;
  return (
    <>
      {chemistry.missing.length > 0 && (
        <p className="notice">
          The water’s {chemistry.missing.join(' and ')} {chemistry.missing.length > 1 ? 'are' : 'is'} not known, so no
          pH and no acid dose can be worked out. Both are on the water report; a test kit for alkalinity (KH) will do.
        </p>
      )}
      {tank?.kind === 'predicted' && (
        <p>
          The mix comes to <strong>pH {tank.closed.pH.toFixed(1)}</strong> as mixed, and drifts to{' '}
          <strong>{tank.open.pH.toFixed(1)}</strong> as carbon dioxide leaves (hours in the tank, at once in fine
          droplets). <How to="water" />
        </p>
      )}
      {tank?.kind === 'predicted' &&
        tank.notes.map((note) => (
          <p key={note} className="soft">
            {asRead(note, system)}
          </p>
        ))}
      {tank?.kind === 'unknown' && (
        <p className="notice">
          pH of the mix unknown: nobody has said what {tank.because.join(', ')} {tank.because.length > 1 ? 'are' : 'is'}{' '}
          made of. Mix a jar at the same strength, measure it, and enter it as “pH of a jar of the mix”.
        </p>
      )}
      {chemistry.hardness && <p className="notice">{asRead(chemistry.hardness, system)}</p>}
      {jarPh !== null && <p>Measured in a jar: pH {jarPh}. The checks go by this.</p>}
      {acidItem && (
        <p>
          {acidItem.dose === null ? (
            <>No acid needed: the mix is at pH {acidItem.pHWithout?.toFixed(1)} without it.</>
          ) : (
            <>
              {acid.name}: <strong>{showConcentration(acidItem.gPerL * 1000, system).text} of mix</strong> brings{' '}
              {acidItem.basis === 'whole-mix' ? 'the whole mix' : 'the water'} to pH {targetPh},{' '}
              {acidAir === 'open' ? 'and holds it there in a tank that stands open' : 'in a closed tank sprayed soon'}
              {acidItem.basis === 'water-alone' && '; what the other products add is unknown, so measure a jar'}.
            </>
          )}
        </p>
      )}
      {waterDose?.kind === 'dose' && (
        <p>
          The water alone needs {doseText(waterDose, acid.form, mixL, system)} of {acid.name} for the{' '}
          {showVolume(mixL, system).text} of this plan to reach pH {targetPh}: it neutralises{' '}
          {significant(Math.min(1, waterDose.neutralisedShare) * 100, 2)} % of the alkalinity and leaves{' '}
          {showAlkalinity(Math.max(0, waterDose.residualAlkalinityMgPerLCaCO3), system, 2).text}.
          {waterDoseOpen?.kind === 'dose' &&
            ` To hold that pH with the air let in it would take ${doseText(waterDoseOpen, acid.form, mixL, system)}.`}
        </p>
      )}
      {waterDose?.kind === 'none-needed' && (
        <p>The water is at pH {(waterDose satisfies NoDose).pH.toFixed(1)} already.</p>
      )}
      <p>{asRead(chemistry.why, system)}</p>
      <p className="soft">
        Worked out for a tank at room temperature, by the chemistry of what is dissolved; solids and pairs of ions are
        not counted. A test strip in the tank has the last word.
      </p>
    </>
  );
}

import { TableHold } from '@/app/_ui/table-hold';
import Link from 'next/link';
import { showArea, showLiquidRate, showMass, showTyped, showVolume, type UnitSystem } from '@/lib/units/display';
import type { TreatmentMix } from '@/lib/work/trials/treatment-mixes';

/** What to weigh out for each treatment, all its strips in one tank. */
export function MixTable({
  mixes,
  system,
  links = true,
}: {
  mixes: TreatmentMix[];
  system: UnitSystem;
  links?: boolean;
}) {
  return (
    <>
      {mixes.map((mix) => (
        <div key={mix.treatment}>
          <h3>
            {mix.treatment}{' '}
            <span className="soft">
              strips {mix.strips.join(', ')} · {showArea(mix.areaM2, system).text}
            </span>
          </h3>
          {mix.isCheck ? (
            <p className="soft">Stays unsprayed: cover it or keep off while spraying beside it.</p>
          ) : (
            <>
              <TableHold label="What to mix">
                <table>
                  <thead>
                    <tr>
                      <th>Product</th>
                      <th className="number">Rate</th>
                      <th className="number">For these strips</th>
                    </tr>
                  </thead>
                  <tbody>
                    {mix.lines.map((line, place) => (
                      <tr key={place}>
                        <td>{line.name}</td>
                        <td className="number">
                          {showTyped({ value: line.rateEnteredValue, unit: line.rateEnteredUnit }, system, 4).text}
                        </td>
                        <td className="number">
                          {line.amount === null
                            ? '–'
                            : line.form === 'liquid' && line.amount.volumeL !== null
                              ? showVolume(line.amount.volumeL, system).text
                              : line.amount.massKg !== null
                                ? showMass(line.amount.massKg, system).text
                                : line.amount.volumeL !== null
                                  ? showVolume(line.amount.volumeL, system).text
                                  : '–'}
                          {line.problem && <span className="wrong"> {line.problem}</span>}
                        </td>
                      </tr>
                    ))}
                  </tbody>
                </table>
              </TableHold>
              <p className="soft">
                {mix.carrierL === null || mix.carrierLPerHa === null
                  ? 'Carrier volume unknown: give the sprayer a catch test, or name it in the trial.'
                  : `In ${showVolume(mix.carrierL, system).text} of finished mix (${showLiquidRate(mix.carrierLPerHa, system).text}), nothing to spare: mix some more and keep the strength.`}{' '}
                {links && mix.plan && <Link href={mix.plan}>Plan this spray</Link>}
              </p>
            </>
          )}
        </div>
      ))}
    </>
  );
}

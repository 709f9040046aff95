import { missingWords } from '@/lib/weather/drying';
import { timeText, type Reader } from '@/lib/units/dates';
import { showFilm, significant } from '@/lib/units/display';
import type { PlanWindow } from '@/lib/work/weather/plan-window';
import { asRead } from '@/lib/units/quantity';

/** How long the film stays wet, in one sentence, or what is missing to say so. */
export function WindowLine({ window, reader }: { window: PlanWindow; reader: Reader }) {
  if (window.kind === 'missing') return <>Drying time unknown: it needs {window.missing.join(', ')}.</>;
  const { drying } = window;
  const basis =
    window.basis === 'hours' ? 'the weather hours known' : 'the weather typed into the plan, taken as steady';
  const at = (utcMs: number) => timeText(new Date(utcMs), reader);
  const sentence =
    drying.kind === 'dries'
      ? `The film (${showFilm(drying.filmMm, reader.unitSystem).text}) dries in about ${significant(drying.minutes, 2)} min, by ${at(drying.driesAtUtcMs)}.`
      : drying.kind === 'rained-on'
        ? `Rain comes at ${at(drying.atUtcMs)}, before the film is dry.`
        : drying.kind === 'does-not-dry'
          ? `The film doesn’t dry before ${at(drying.byUtcMs)}: damp, still air or dew.`
          : `Drying time unknown: ${missingWords(drying.missing)} missing at ${at(drying.hourStartUtcMs)}.`;
  return (
    <>
      {sentence}{' '}
      <span className="soft">
        An estimate from {basis}
        {drying.assumed.length > 0 && `; ${asRead(drying.assumed.join('; '), reader.unitSystem)}`}.
      </span>
    </>
  );
}

import type { Check, CheckLevel } from '@/lib/spray/check';
import {
  showArea,
  showConcentration,
  showDryRate,
  showLiquidRate,
  showTemperature,
  significant,
  type UnitSystem,
} from '@/lib/units/display';
import { asRead } from '@/lib/units/quantity';

const words: Record<CheckLevel, string> = {
  never: 'Never',
  'over-label': 'Against the label',
  caution: 'Caution',
  note: 'Note',
  clear: 'Clear',
};
const notice: Record<CheckLevel, string> = {
  never: 'notice notice-bad',
  'over-label': 'notice notice-bad',
  caution: 'notice',
  note: 'notice notice-plain',
  clear: 'notice notice-good',
};

/** A check's figure in the reader's units. */
function shown(value: number, unit: string, system: UnitSystem): string {
  if (unit === 'kg/ha') return showDryRate(value, system).text;
  if (unit.startsWith('kg ')) return `${showDryRate(value, system).text} of ${unit.slice(3).replace('/ha', '')}`;
  if (unit === 'g/L') return showConcentration(value * 1000, system).text;
  if (unit === 'L/ha') return showLiquidRate(value, system).text;
  if (unit === 'm²') return showArea(value, system).text;
  if (unit === '°C') return showTemperature(value, system).text;
  if (unit === 'pH') return `pH ${value.toFixed(1)}`;
  return `${significant(value)} ${unit}`;
}

/** What is counted in particles says its share of the limit in its sentence. */
const isChemists = (unit: string): boolean => unit.startsWith('mmol/L');

function CheckItem({ check, system }: { check: Check; system: UnitSystem }) {
  return (
    <li className={notice[check.level]}>
      <strong>{words[check.level]}</strong>
      {check.subject && <span> · {check.subject}</span>}
      <div>{asRead(check.sentence, system)}</div>
      {check.fix && (
        <div>
          <strong>What would fix it:</strong> {check.fix}
        </div>
      )}
      <div className="soft">
        {check.value !== null && !isChemists(check.unit) && `Here ${shown(check.value, check.unit, system)}`}
        {check.value !== null &&
          !isChemists(check.unit) &&
          check.limit !== null &&
          check.limit !== 0 &&
          `, held against ${shown(check.limit, check.unit, system)}. `}
        {check.value !== null && !isChemists(check.unit) && (check.limit === null || check.limit === 0) && '. '}Source:{' '}
        {check.source}.
      </div>
    </li>
  );
}

/** Every check with its number, its source and what would fix it: the grave ones open, the clear ones folded. */
export function CheckList({ checks, system }: { checks: readonly Check[]; system: UnitSystem }) {
  const open = checks.filter((check) => check.level !== 'clear');
  const clear = checks.filter((check) => check.level === 'clear');
  return (
    <>
      {open.length === 0 && <p>Nothing to object to among {clear.length} checks.</p>}
      <ul className="checks">
        {open.map((check) => (
          <CheckItem key={`${check.code}-${check.subject}-${check.sentence}`} check={check} system={system} />
        ))}
      </ul>
      {clear.length > 0 && (
        <details>
          <summary>{clear.length} checks that are clear</summary>
          <ul className="checks">
            {clear.map((check) => (
              <CheckItem key={`${check.code}-${check.subject}-${check.sentence}`} check={check} system={system} />
            ))}
          </ul>
        </details>
      )}
    </>
  );
}

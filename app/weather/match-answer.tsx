'use client';
import { useRef, useState } from 'react';
import { TableHold } from '@/app/_ui/table-hold';
import { significant } from '@/lib/units/display';
import type { AnswerLook } from '@/lib/work/photos/look-at-answer';

export interface FieldChoice {
  field: string;
  name: string;
  units: readonly { value: string; label: string }[];
}

/**
 * Looks once at what the address answers, shows each name with its first figures, and lets the reader say what it is.
 * What is picked goes into the form's own fields, and is kept with them.
 */
export function MatchAnswer({
  look,
  fields,
}: {
  look: (data: FormData) => Promise<AnswerLook>;
  fields: readonly FieldChoice[];
}) {
  const hold = useRef<HTMLDivElement>(null);
  const [answer, setAnswer] = useState<AnswerLook | null>(null);
  const [busy, setBusy] = useState(false);
  const [picked, setPicked] = useState<Readonly<Record<string, { field: string; unit: string }>>>({});
  const form = () => hold.current?.closest('form') ?? null;

  const write = (choices: typeof picked) => {
    setPicked(choices);
    const elements = form()?.elements;
    for (const { field } of fields) {
      const match = Object.entries(choices).find(([, choice]) => choice.field === field);
      const [name, unit] = [elements?.namedItem(`fields.${field}.name`), elements?.namedItem(`fields.${field}.unit`)];
      if (name instanceof HTMLInputElement) name.value = match?.[0] ?? '';
      if (match && unit instanceof HTMLSelectElement && match[1].unit !== '') unit.value = match[1].unit;
    }
  };
  const ask = async () => {
    const from = form();
    if (!from) return;
    setBusy(true);
    const got = await look(new FormData(from));
    setBusy(false);
    setAnswer(got);
    if (got.ok)
      write(
        Object.fromEntries(
          got.names.map((one) => [
            one.name,
            {
              field: one.field ?? '',
              unit: one.unit ?? fields.find(({ field }) => field === one.field)?.units[0]?.value ?? '',
            },
          ]),
        ),
      );
  };
  const change = (name: string, part: Partial<{ field: string; unit: string }>) => {
    const before = picked[name] ?? { field: '', unit: '' };
    const next = { ...before, ...part };
    if (part.field !== undefined && part.field !== before.field)
      next.unit = fields.find(({ field }) => field === part.field)?.units[0]?.value ?? '';
    // A field of the diary's takes one name: whoever had it before gives it up.
    write(
      Object.fromEntries([
        ...Object.entries(picked).map(
          ([other, choice]) =>
            [other, part.field && choice.field === part.field ? { field: '', unit: '' } : choice] as const,
        ),
        [name, next] as const,
      ]),
    );
  };

  return (
    <div ref={hold}>
      <button type="button" disabled={busy} onClick={() => void ask()}>
        {busy ? 'Asking …' : 'Look at an answer'}
      </button>
      <div aria-live="polite">
        {answer && !answer.ok && <p className="notice notice-bad">{answer.message}</p>}
        {answer?.ok && (
          <p>
            Hours from {answer.from} to {answer.to}. Say what each of its names is; what you don’t need stays “not
            used”. Saved with the service, it counts for every answer.
          </p>
        )}
      </div>
      {answer?.ok && (
        <TableHold label="Names in the answer">
          <table data-as-typed="">
            <thead>
              <tr>
                <th>In the answer</th>
                <th className="number">First figures</th>
                <th>Is</th>
                <th>In</th>
              </tr>
            </thead>
            <tbody>
              {answer.names.map((one) => {
                const choice = picked[one.name] ?? { field: '', unit: '' };
                const units = fields.find(({ field }) => field === choice.field)?.units ?? [];
                return (
                  <tr key={one.name}>
                    <th scope="row">{one.name}</th>
                    <td className="number">{one.sample.map((value) => significant(value, 4)).join(', ') || '–'}</td>
                    <td>
                      <select
                        aria-label={`${one.name} is`}
                        value={choice.field}
                        onChange={(event) => change(one.name, { field: event.target.value })}
                      >
                        <option value="">not used</option>
                        {fields.map(({ field, name }) => (
                          <option key={field} value={field}>
                            {name}
                          </option>
                        ))}
                      </select>
                    </td>
                    <td>
                      {units.length > 0 && (
                        <select
                          aria-label={`${one.name}: unit`}
                          value={choice.unit}
                          onChange={(event) => change(one.name, { unit: event.target.value })}
                        >
                          {units.map((unit) => (
                            <option key={unit.value} value={unit.value}>
                              {unit.label}
                            </option>
                          ))}
                        </select>
                      )}
                    </td>
                  </tr>
                );
              })}
            </tbody>
          </table>
        </TableHold>
      )}
    </div>
  );
}

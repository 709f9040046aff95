import type { ReactNode } from 'react';
import { howTopics, type HowTopic } from '@/app/_ui/how';

/** One number of the app: what it says, its formula, the parameters as the code holds them, where it comes from. */
export function Method({
  id,
  version,
  formulas = [],
  parameters = [],
  sources,
  children,
}: {
  id: HowTopic;
  version?: string;
  formulas?: readonly string[];
  parameters?: readonly (readonly [name: string, value: string | number])[];
  sources: readonly string[];
  children: ReactNode;
}) {
  const title = howTopics[id];
  return (
    <section className="sheet" id={id}>
      <h3>{title[0]?.toUpperCase() + title.slice(1)}</h3>
      {children}
      {formulas.map((formula) => (
        <p key={formula} className="formula">
          {formula}
        </p>
      ))}
      {(version || parameters.length > 0) && (
        <dl className="facts">
          {version && (
            <div>
              <dt>Method version</dt>
              <dd>{version}</dd>
            </div>
          )}
          {parameters.map(([name, value]) => (
            <div key={name}>
              <dt>{name}</dt>
              <dd>{value}</dd>
            </div>
          ))}
        </dl>
      )}
      <p className="soft">Source: {sources.join('; ')}.</p>
    </section>
  );
}

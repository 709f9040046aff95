import type { Metadata } from 'next';
import { howTopics } from '@/app/_ui/how';
import { ColourMethods } from './colour';
import { SprayMethods } from './spray';
import { TrialMethods } from './trials';
import { WeatherMethods } from './weather';

export const metadata: Metadata = { title: 'How the numbers are made' };

export default function MethodsPage() {
  return (
    <>
      <h1>How the numbers are made</h1>
      <p>
        Every number of this diary with its formula, its parameters as the program holds them now, and where it comes
        from. A reading keeps the method version that made it; when a method changes, its version does. “From memory”
        and “common practice” mean just that.
      </p>
      <nav aria-label="On this page" className="row">
        {Object.entries(howTopics).map(([id, title]) => (
          <a key={id} className="chip" href={`#${id}`}>
            {title}
          </a>
        ))}
      </nav>
      <ColourMethods />
      <SprayMethods />
      <WeatherMethods />
      <TrialMethods />
    </>
  );
}

import Link from 'next/link';

/** What has a section of its own on the page "How the numbers are made". */
export const howTopics = {
  dgci: 'the dark green colour index',
  indices: 'the other colour indices',
  mask: 'turf and not turf',
  interval: 'an interval of one photo',
  change: 'the change against the check',
  correction: 'colour correction',
  'lining-up': 'lining up photos',
  marks: 'marks',
  cautions: 'cautions',
  nutrients: 'nutrients and rates',
  tanks: 'tanks and loads',
  salt: 'salt and salt index',
  limits: 'label limits and burn checks',
  water: 'tank pH and acid dose',
  drying: 'drying time',
  'delta-t': 'Delta T, dew point and VPD',
  'typed-forecast': 'a typed forecast',
  eto: 'reference evapotranspiration',
  'degree-days': 'growing degree days',
  sun: 'the sun',
  window: 'the spray window',
  trials: 'trial statistics',
  curve: 'the response curve',
  response: 'the response over the whole diary',
  causes: 'likely causes of a mark',
} as const;

export type HowTopic = keyof typeof howTopics;

/** One tap from a number to how it is made. */
export function How({ to }: { to: HowTopic }) {
  return (
    <Link className="how no-print" href={`/methods#${to}`} aria-label={`How? The method of ${howTopics[to]}`}>
      How?
    </Link>
  );
}

/** Several in one place name what each is of: "How: turf and not turf · an interval of one photo". */
export function HowEach({ to }: { to: readonly HowTopic[] }) {
  return (
    <span className="no-print">
      How:{' '}
      {to.map((topic, place) => (
        <span key={topic}>
          {place > 0 && ' · '}
          <Link className="how" href={`/methods#${topic}`}>
            {howTopics[topic]}
          </Link>
        </span>
      ))}
    </span>
  );
}

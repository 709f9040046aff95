import type { Reason, Suitability } from '@/lib/weather/window-limits';

export function VerdictWord({ verdict }: { verdict: Suitability }) {
  return <span className={`verdict verdict-${verdict}`}>{verdict}</span>;
}

const rank: Record<Suitability, number> = { unsuitable: 0, unknown: 1, doubtful: 2, suitable: 3 };

/** What speaks for and against an hour, worst first, each with its limit and where the limit comes from. */
export function Reasons({
  reasons,
}: {
  reasons: readonly Pick<Reason, 'topic' | 'verdict' | 'sentence' | 'limit' | 'source'>[];
}) {
  return (
    <ul className="reasons">
      {[...reasons]
        .sort((a, b) => rank[a.verdict] - rank[b.verdict])
        .map((reason) => (
          <li key={reason.topic}>
            <VerdictWord verdict={reason.verdict} />
            <span>{reason.sentence}</span>
            <span className="soft">
              Limit: {reason.limit}. Source: {reason.source}.
            </span>
          </li>
        ))}
    </ul>
  );
}

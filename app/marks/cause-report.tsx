import { TableHold } from '@/app/_ui/table-hold';
import '@/app/trials/_parts/trials.css';
import Link from 'next/link';
import type { CauseFinding, CauseEvidence } from '@/lib/explain/causes';
import type { MarkCauses } from '@/lib/work/photos/find-causes';

/** Each source once, in the order in which the page comes to it; a piece of evidence carries its number. */
function sourcesOf(findings: readonly CauseFinding[]): Map<string, number> {
  const names = findings.flatMap((finding) =>
    [...finding.evidenceFor, ...finding.evidenceAgainst].map((one) => one.source),
  );
  return new Map([...new Set(names)].map((name, place) => [name, place + 1]));
}

function EvidenceList({
  evidence,
  sources,
}: {
  evidence: readonly CauseEvidence[];
  sources: ReadonlyMap<string, number>;
}) {
  if (evidence.length === 0) return <>–</>;
  return (
    <ul className="evidence">
      {evidence.map((one) => (
        <li key={one.text}>
          {one.weight !== 'some' ? <strong>{one.text}</strong> : one.text}
          <sup>
            <a
              href={`#source-${sources.get(one.source)}`}
              aria-label={`Source ${sources.get(one.source)}: ${one.source}`}
            >
              {sources.get(one.source)}
            </a>
          </sup>
        </li>
      ))}
    </ul>
  );
}

/** Causes with their evidence, strong pieces in bold. */
function CauseTable({
  label,
  findings,
  sources,
}: {
  label: string;
  findings: readonly CauseFinding[];
  sources: ReadonlyMap<string, number>;
}) {
  if (findings.length === 0) return null;
  return (
    <TableHold label={label}>
      <table className="causes">
        <caption className="visually-hidden">Evidence from the record; strong pieces in bold</caption>
        <thead>
          <tr>
            <th>Cause</th>
            <th>How strong</th>
            <th>For it</th>
            <th>Against it</th>
            <th>Not recorded</th>
          </tr>
        </thead>
        <tbody>
          {findings.map((finding) => (
            <tr key={finding.cause}>
              <td>{finding.title}</td>
              <td data-head="How strong" className={`strength-${finding.strength}`}>
                {finding.strength}
              </td>
              <td data-head="For it">
                <EvidenceList evidence={finding.evidenceFor} sources={sources} />
              </td>
              <td data-head="Against it">
                <EvidenceList evidence={finding.evidenceAgainst} sources={sources} />
              </td>
              <td className="soft" data-head={finding.unknown.length > 0 ? 'Not recorded' : undefined}>
                {finding.unknown.join(', ')}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </TableHold>
  );
}

/** More than so many places to look at once is none. */
const MOST_LOOKS = 4;

/**
 * What may have made a mark: evidence for and against each cause, and what to do otherwise. Says "likely", never "is".
 */
export function CauseReportView({ causes }: { causes: MarkCauses }) {
  const { report, spray, nextTime, combinedPlan } = causes;
  if (!spray || !report)
    return (
      <p className="notice">
        No spray on this plot before the mark was first seen, so nothing here can be held against one.
      </p>
    );
  if (report.kind === 'too-late') {
    return (
      <>
        {report.sentences.map((sentence) => (
          <p key={sentence} className="notice">
            {sentence}
          </p>
        ))}
      </>
    );
  }
  const weighed = report.findings.filter((finding) => finding.strength !== 'not weighed');
  const unlikely = weighed.filter((finding) => finding.strength === 'unlikely');
  const notWeighed = report.findings.filter((finding) => finding.strength === 'not weighed');
  const shown = weighed.filter((finding) => finding.strength !== 'unlikely');
  const sources = sourcesOf([...shown, ...unlikely]);
  const looks = weighed.filter((finding) => finding.strength !== 'unlikely').slice(0, MOST_LOOKS);
  return (
    <>
      {report.sentences.map((sentence, place) => (
        <p key={sentence}>{place === 0 ? <strong>{sentence}</strong> : sentence}</p>
      ))}
      {looks.length > 0 && (
        <>
          <h3>Look first</h3>
          <ul>
            {looks.map((finding) => (
              <li key={finding.cause}>
                <strong>{finding.title}</strong>{' '}
                <span className={`strength-${finding.strength}`}>({finding.strength})</span>: {finding.look}
              </li>
            ))}
          </ul>
        </>
      )}
      <CauseTable label="Evidence for each cause" findings={shown} sources={sources} />
      {unlikely.length > 0 && (
        <details>
          <summary>
            Unlikely from the record: {unlikely.length} {unlikely.length === 1 ? 'cause' : 'causes'}
          </summary>
          <CauseTable label="Evidence for the unlikely causes" findings={unlikely} sources={sources} />
        </details>
      )}
      <p className="soft">
        “Likely” needs three points more for than against and a strong piece; a trial of the cause counts ten, a
        decisive piece four, a strong one two (both in bold), another one. Our own rule, no source.
      </p>
      {notWeighed.length > 0 && (
        <details>
          <summary>
            Not weighed, as the diary holds no record of it: {notWeighed.length}{' '}
            {notWeighed.length === 1 ? 'cause' : 'causes'}
          </summary>
          <ul>
            {notWeighed.map((finding) => (
              <li key={finding.cause}>
                {finding.sentence} <span className="soft">{finding.look}</span>
              </li>
            ))}
          </ul>
          <p className="soft">
            Mowing, watering, what was seen, other products and traffic written down as events are weighed from then on.
          </p>
        </details>
      )}
      {sources.size > 0 && (
        <ol className="sources" aria-label="Sources">
          {[...sources].map(([name, number]) => (
            <li key={name} id={`source-${number}`}>
              {name}
            </li>
          ))}
        </ol>
      )}
      {nextTime.length > 0 && (
        <>
          <h2>What I’d change next time</h2>
          <ul className="due-list">
            {nextTime.map((one) => (
              <li key={one.whatIf.id} className="row row-end">
                <span>
                  {one.whatIf.text}.{one.numbers && <span className="soft"> {one.numbers}</span>}
                </span>
                <Link className="button" href={one.plan}>
                  Plan it so
                </Link>
              </li>
            ))}
          </ul>
          {combinedPlan && (
            <p>
              <Link className="button button-main" href={combinedPlan}>
                Plan with all that is likely changed
              </Link>
            </p>
          )}
          <p className="soft">
            Estimates of the drying and rate models for this spray’s own weather. The label is the law; a test strip
            comes before the whole lawn.
          </p>
        </>
      )}
    </>
  );
}

import Link from 'next/link';
import type { ReactNode } from 'react';
import type { Answer, AnswerPart, EvidenceOf } from '@/lib/explain/answer';

const addressOf = (evidence: EvidenceOf): string => {
  switch (evidence.kind) {
    case 'photo':
      return `/photos/${evidence.id}`;
    case 'mark':
      return `/marks/${evidence.id}`;
    case 'spray':
      return `/sprays/${evidence.id}`;
    case 'analysis':
      return `/trials/${evidence.id}/analysis`;
    case 'method':
      return `/methods#${evidence.topic}`;
    case 'plan':
      return evidence.address;
  }
};

/**
 * What happened, in a sentence or two: what is sure stands firm, what isn't is set apart, and each piece leads to what
 * it rests on.
 */
export function AnswerView({
  answer,
  linked = true,
  before,
  after,
}: {
  answer: Answer;
  /** False where the reader may see this page only. */ linked?: boolean;
  before?: ReactNode;
  after?: ReactNode;
}) {
  return (
    <p className="answer">
      {before}
      {answer.map((part, place) => (
        <Piece key={place} part={part} linked={linked} />
      ))}
      {after}
    </p>
  );
}

function Piece({ part: { text, evidence, sureness }, linked }: { part: AnswerPart; linked: boolean }) {
  const className = sureness === 'sure' ? 'answer-sure' : sureness === 'unsure' ? 'answer-unsure' : undefined;
  if (evidence && linked) {
    return (
      <Link className={className} href={addressOf(evidence)}>
        {text}
      </Link>
    );
  }
  return className ? <span className={className}>{text}</span> : <>{text}</>;
}

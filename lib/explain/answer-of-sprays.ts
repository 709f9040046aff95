import type { MarkKind } from '@/lib/photo/marks/kind';
import { listed } from '@/lib/trial/wording';
import { shareText } from '@/lib/units/show-index';
import type { PlotStory, AnswerPart, EvidenceOf, Answer } from './answer';
import { plainPart, lowerFirst, TOLD_SINGLY, tellMany, tellEach } from './tell-plots';

export interface AnswerMark {
  readonly id: string;
  readonly kind: MarkKind;
  readonly plotName: string;
  /** Of the plot, 0-1, in the photo that shows most of it. */
  readonly areaShare: number;
  readonly confirmed: boolean;
  /** When a later photo of the plot no longer shows it: '10 days after'; else null. */
  readonly goneWhen: string | null;
}

export interface AnswerCause {
  readonly markId: string;
  /** Titles of the likely causes, strongest first; none: nothing in the record makes one likely. */
  readonly likely: readonly string[];
  readonly nextTime: { readonly text: string; readonly address: string } | null;
}

export interface AnswerInput {
  readonly stories: readonly PlotStory[];
  readonly marks: readonly AnswerMark[];
  readonly cause: AnswerCause | null;
  /** Photos there are to speak from, those being worked out apart. */
  readonly photos: number;
  readonly pending: number;
}

const MARK_WORDS: Readonly<Record<MarkKind, string>> = {
  silver: 'a silvery haze',
  blackening: 'a blackening',
  burn: 'a scorched patch',
  chlorosis: 'a yellowed patch',
  other: 'a patch unlike the rest',
};

function tellMarks(marks: readonly AnswerMark[]): AnswerPart[] {
  const largest = marks.toSorted((a, b) => b.areaShare - a.areaShare).slice(0, 2);
  const parts = largest.flatMap((mark, place): AnswerPart[] => [
    plainPart(place === 0 ? '; ' : ' and '),
    {
      text: `${mark.confirmed ? '' : 'what looks like '}${MARK_WORDS[mark.kind]} on ${shareText(mark.areaShare)} of ${mark.plotName}`,
      evidence: { kind: 'mark', id: mark.id },
      sureness: mark.confirmed ? 'sure' : 'unsure',
    },
    ...(mark.goneWhen === null ? [] : [plainPart(`, no longer seen ${mark.goneWhen}`)]),
  ]);
  if (marks.length > largest.length) parts.push(plainPart(` (and ${marks.length - largest.length} more)`));
  return parts;
}

function tellCause({ markId, likely, nextTime }: AnswerCause): AnswerPart[] {
  const evidence: EvidenceOf = { kind: 'mark', id: markId };
  const [first, ...more] = likely.map(lowerFirst);
  const parts: AnswerPart[] =
    first === undefined
      ? [plainPart(' '), { text: 'Nothing in the record makes one cause of it likely', evidence, sureness: 'unsure' }]
      : [
          plainPart(' Likely from the record: '),
          { text: first, evidence, sureness: 'unsure' },
          ...(more.length === 0
            ? []
            : [
                plainPart('; '),
                { text: `${listed(more)} may have worked with it`, evidence, sureness: 'unsure' as const },
              ]),
        ];
  if (nextTime)
    parts.push(plainPart('. Next time, as far as the label allows: '), {
      text: nextTime.text,
      evidence: { kind: 'plan', address: nextTime.address },
    });
  return [...parts, plainPart('.')];
}

/** What a spray did, or what a photo shows, in a sentence or two; every figure is one of those given. */
export function answerOf({ stories, marks, cause, photos, pending }: AnswerInput): Answer {
  if (photos === 0)
    return [
      pending > 0
        ? { text: 'The photos are being worked out; the answer comes with them.', sureness: 'unsure' }
        : { text: 'No photo yet, so what it did isn’t known.', sureness: 'unsure' },
    ];
  const told: AnswerPart[] =
    stories.length === 0
      ? [
          {
            text: 'No unsprayed check lies beside it in a photo and an earlier one, so light and treatment can’t be told apart',
            sureness: 'unsure',
          },
        ]
      : stories.length > TOLD_SINGLY
        ? tellMany(stories)
        : tellEach(stories);
  return [
    ...told,
    ...tellMarks(marks),
    plainPart('.'),
    ...(cause ? tellCause(cause) : []),
    ...(pending > 0
      ? [
          {
            text: ` ${pending === 1 ? 'One photo is' : `${pending} photos are`} still being worked out.`,
            sureness: 'unsure' as const,
          },
        ]
      : []),
  ];
}

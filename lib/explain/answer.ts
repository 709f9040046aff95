/**
 * What happened, in one plain sentence or two, made of figures that stand on the pages already: no number is worked out
 * here. The answer is data, so that every piece can lead to what it rests on and what isn't sure can be seen to be
 * unsure.
 */
import type { MarkKind } from '@/lib/photo/marks/kind';
import { listed } from '@/lib/trial/wording';
import { indexSize, shareText, signedIndex } from '@/lib/units/show-index';

/** What a piece of the answer rests on. */
export type EvidenceOf =
  | { readonly kind: 'photo' | 'mark' | 'spray' | 'analysis'; readonly id: string }
  | { readonly kind: 'method'; readonly topic: 'change' | 'marks' | 'causes' | 'trials' }
  | { readonly kind: 'plan'; readonly address: string };

export interface AnswerPart {
  readonly text: string;
  readonly evidence?: EvidenceOf;
  /** 'unsure' where the figures can't tell, or where nobody has looked; plain words have neither. */
  readonly sureness?: 'sure' | 'unsure';
}
export type Answer = readonly AnswerPart[];

export interface AnswerFigure {
  readonly value: number;
  /** 95 %; null where the ground compared is too small to say. */
  readonly low95: number | null;
  readonly high95: number | null;
}

/** One photo's (or day's) figure of one plot against its check. */
export interface AnswerPoint {
  readonly evidence: EvidenceOf;
  /** '3 days after', 'on day 3': when, as it follows a comma. */
  readonly when: string;
  /** Null where `refused` says why. */
  readonly figure: AnswerFigure | null;
  readonly refused: string | null;
}

export interface PlotStory {
  readonly name: string;
  /** Oldest first. */
  readonly points: readonly AnswerPoint[];
  /** How the plot stood in the last photo before the spray, where the same series had sprays before it. */
  readonly before: { readonly evidence: EvidenceOf; readonly figure: AnswerFigure } | null;
}

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

/** How a figure stands to nothing, by its 95 % interval. */
export type Standing = 'darker' | 'paler' | 'not-told' | 'no-interval';

/**
 * 'not-told' when the interval holds 0, so that the plot can't be told from the check.
 * Exported for its edges: an interval that touches 0.
 */
export function standingOf({ value, low95, high95 }: AnswerFigure): Standing {
  if (low95 === null || high95 === null) return 'no-interval';
  if (low95 > 0 && value > 0) return 'darker';
  return high95 < 0 && value < 0 ? 'paler' : 'not-told';
}

const isTold = (figure: AnswerFigure | null): figure is AnswerFigure =>
  figure !== null && ['darker', 'paler'].includes(standingOf(figure));
/** Both ends lie on the side of the value, so they are said as sizes like it. */
const between = ({ low95, high95 }: AnswerFigure): string => {
  if (low95 === null || high95 === null) return '';
  const [least, most] = [Math.abs(low95), Math.abs(high95)].toSorted((a, b) => a - b) as [number, number];
  return ` (${indexSize(least)} to ${indexSize(most)})`;
};
const plain = (text: string): AnswerPart => ({ text });

/**
 * The point a story is told by: the largest change that can be told from nothing, else the newest that gives a figure.
 */
function leadOf(story: PlotStory): AnswerPoint | undefined {
  const told = story.points.filter((point) => isTold(point.figure));
  const largest = told.toSorted((a, b) => Math.abs(b.figure!.value) - Math.abs(a.figure!.value))[0];
  return largest ?? story.points.findLast((point) => point.figure !== null) ?? story.points.at(-1);
}

/**
 * 'turned darker than the check by 0.080 (0.071 to 0.089)', or what can't be told; what the plot before it did as well
 * needs no saying twice.
 */
function verdict(point: AnswerPoint, alreadySaid: Standing | null): AnswerPart {
  const { figure, evidence, refused } = point;
  if (figure === null)
    return {
      text: `can’t be compared: ${lowerFirst(refused ?? 'no change could be worked out').replace(/\.$/, '')}`,
      evidence,
      sureness: 'unsure',
    };
  const standing = standingOf(figure);
  if (standing === 'not-told')
    return {
      text: `can’t be told from the check (${signedIndex(figure.value)}, 95 % ${signedIndex(figure.low95!)} to ${signedIndex(figure.high95!)})`,
      evidence,
      sureness: 'unsure',
    };
  const way = figure.value < 0 ? 'paler' : 'darker';
  if (standing === 'no-interval')
    return {
      text: `seems ${way} than the check by ${indexSize(figure.value)}, on too little ground for an interval`,
      evidence,
      sureness: 'unsure',
    };
  return {
    text: `${standing === alreadySaid ? '' : `turned ${way} than the check `}by ${indexSize(figure.value)}${between(figure)}`,
    evidence,
    sureness: 'sure',
  };
}

const lowerFirst = (text: string): string => text.charAt(0).toLowerCase() + text.slice(1);

function tellStory(story: PlotStory, alreadySaid: Standing | null = null): AnswerPart[] {
  const lead = leadOf(story);
  if (!lead) return [plain(`${story.name} is not in a photo yet`)];
  const last = story.points.findLast((point) => point.figure !== null) ?? lead;
  const parts: AnswerPart[] = [
    plain(`${story.name} `),
    verdict(lead, alreadySaid),
    plain(lead.when === '' ? '' : `, ${lead.when}`),
  ];
  if (story.before)
    parts.push(
      plain(' ('),
      { text: `${signedIndex(story.before.figure.value)} just before`, evidence: story.before.evidence },
      plain(')'),
    );
  if (last !== lead && last.figure !== null && lead.figure !== null) {
    const now = standingOf(last.figure);
    const same = now === standingOf(lead.figure);
    parts.push(plain(`, ${last.when} `));
    if (now === 'not-told')
      parts.push({
        text: `can’t be told from it (${signedIndex(last.figure.value)}, 95 % ${signedIndex(last.figure.low95!)} to ${signedIndex(last.figure.high95!)})`,
        evidence: last.evidence,
        sureness: 'unsure',
      });
    else if (now === 'no-interval')
      parts.push({
        text: `seems ${last.figure.value < 0 ? 'paler' : 'darker'} by ${indexSize(last.figure.value)}, on too little ground for an interval`,
        evidence: last.evidence,
        sureness: 'unsure',
      });
    else
      parts.push({
        text: same
          ? `still by ${indexSize(last.figure.value)}`
          : `${now} by ${indexSize(last.figure.value)}${between(last.figure)}`,
        evidence: last.evidence,
        sureness: 'sure',
      });
  }
  return parts;
}

function tellEach(stories: readonly PlotStory[]): AnswerPart[] {
  const standing = (story: PlotStory | undefined): Standing | null => {
    const figure = story && leadOf(story)?.figure;
    return figure ? standingOf(figure) : null;
  };
  return stories.flatMap((story, place) => [
    ...(place === 0 ? [] : [plain('; ')]),
    ...tellStory(story, standing(stories[place - 1])),
  ]);
}

/** As many plots are told one by one; of more, how many went which way, and the largest. */
const TOLD_SINGLY = 3;

function tellMany(stories: readonly PlotStory[]): AnswerPart[] {
  const leads = stories.flatMap((story) => {
    const lead = leadOf(story);
    return lead ? [{ story, lead, standing: lead.figure === null ? null : standingOf(lead.figure) }] : [];
  });
  const went = (standing: Standing | null) => leads.filter((one) => one.standing === standing);
  const groups = [
    [went('darker'), 'turned darker than the check', 'sure'],
    [went('paler'), 'turned paler than the check', 'sure'],
    [went('not-told'), 'can’t be told from it', 'unsure'],
    [[...went('no-interval'), ...went(null)], 'can’t be compared surely', 'unsure'],
  ] as const;
  const parts: AnswerPart[] = [plain(`Of ${stories.length} plots `)];
  for (const [ones, words, sureness] of groups.filter(([ones]) => ones.length > 0)) {
    if (parts.length > 1) parts.push(plain(', '));
    parts.push({ text: `${ones.length} ${words}`, sureness });
    const most = ones.toSorted((a, b) => Math.abs(b.lead.figure?.value ?? 0) - Math.abs(a.lead.figure?.value ?? 0))[0]!;
    if (sureness === 'sure' && most.lead.figure)
      parts.push(
        plain(ones.length > 1 ? `, most ${most.story.name} ` : ` (${most.story.name} `),
        {
          text: `by ${indexSize(most.lead.figure.value)}${between(most.lead.figure)}`,
          evidence: most.lead.evidence,
          sureness: 'sure',
        },
        plain(`${most.lead.when === '' ? '' : `, ${most.lead.when}`}${ones.length > 1 ? '' : ')'}`),
      );
  }
  return parts;
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
    plain(place === 0 ? '; ' : ' and '),
    {
      text: `${mark.confirmed ? '' : 'what looks like '}${MARK_WORDS[mark.kind]} on ${shareText(mark.areaShare)} of ${mark.plotName}`,
      evidence: { kind: 'mark', id: mark.id },
      sureness: mark.confirmed ? 'sure' : 'unsure',
    },
    ...(mark.goneWhen === null ? [] : [plain(`, no longer seen ${mark.goneWhen}`)]),
  ]);
  if (marks.length > largest.length) parts.push(plain(` (and ${marks.length - largest.length} more)`));
  return parts;
}

function tellCause({ markId, likely, nextTime }: AnswerCause): AnswerPart[] {
  const evidence: EvidenceOf = { kind: 'mark', id: markId };
  const [first, ...more] = likely.map(lowerFirst);
  const parts: AnswerPart[] =
    first === undefined
      ? [plain(' '), { text: 'Nothing in the record makes one cause of it likely', evidence, sureness: 'unsure' }]
      : [
          plain(' Likely from the record: '),
          { text: first, evidence, sureness: 'unsure' },
          ...(more.length === 0
            ? []
            : [
                plain('; '),
                { text: `${listed(more)} may have worked with it`, evidence, sureness: 'unsure' as const },
              ]),
        ];
  if (nextTime)
    parts.push(plain('. Next time, as far as the label allows: '), {
      text: nextTime.text,
      evidence: { kind: 'plan', address: nextTime.address },
    });
  return [...parts, plain('.')];
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
    plain('.'),
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

export interface TrialAnswerInput {
  /** Treatments other than the check, each with its figure against the check by day. */
  readonly stories: readonly PlotStory[];
  /** Fewest strips of a treatment. */
  readonly replicates: number;
  /** The tested sentences over all days; empty where nothing was tested. */
  readonly tested: readonly string[];
  readonly trialId: string;
}

/** What a trial shows, and what it can't. */
export function trialAnswer({ stories, replicates, tested, trialId }: TrialAnswerInput): Answer {
  const evidence: EvidenceOf = { kind: 'analysis', id: trialId };
  if (!stories.some((story) => story.points.some((point) => point.figure !== null)))
    return [
      {
        text: 'Nothing can be said yet: no photo after the first spray shows a treated strip beside the check and both before it.',
        sureness: 'unsure',
      },
    ];
  const shown = stories.length > TOLD_SINGLY ? tellMany(stories) : tellEach(stories);
  if (tested.length > 0)
    return [
      ...shown,
      plain('. Over all days: '),
      { text: tested[0]!.replace(/\.$/, ''), evidence, sureness: 'sure' },
      plain('.'),
      ...(replicates < 4
        ? [
            {
              text: ` With ${replicates} strips of a treatment only large differences can be shown.`,
              sureness: 'unsure' as const,
            },
          ]
        : []),
    ];
  const [unsure, method]: [string, EvidenceOf] = [
    replicates < 2
      ? 'What it can’t show: whether that holds anywhere but on these strips, since one strip of a treatment can’t tell what was sprayed from what the ground did'
      : 'What it can’t show yet: whether the treatments differ by more than strips do by themselves; the strips so far are too few to test',
    { kind: 'method', topic: 'trials' },
  ];
  return [
    plain('On these strips '),
    ...shown,
    plain('. '),
    { text: unsure, evidence: method, sureness: 'unsure' },
    plain(replicates < 2 ? '. Two strips of each, better four, would.' : '.'),
  ];
}

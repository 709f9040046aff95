import { indexSize, signedIndex } from '@/lib/units/show-index';
import {
  standingOf,
  type AnswerFigure,
  type AnswerPart,
  type PlotStory,
  type AnswerPoint,
  type Standing,
} from './answer';

const isTold = (figure: AnswerFigure | null): figure is AnswerFigure =>
  figure !== null && ['darker', 'paler'].includes(standingOf(figure));

/** Both ends lie on the side of the value, so they are said as sizes like it. */
const betweenSizes = ({ low95, high95 }: AnswerFigure): string => {
  if (low95 === null || high95 === null) return '';
  const [least, most] = [Math.abs(low95), Math.abs(high95)].toSorted((a, b) => a - b) as [number, number];
  return ` (${indexSize(least)} to ${indexSize(most)})`;
};

export const plainPart = (text: string): AnswerPart => ({ text });

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
function figureTold(point: AnswerPoint, alreadySaid: Standing | null): AnswerPart {
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
    text: `${standing === alreadySaid ? '' : `turned ${way} than the check `}by ${indexSize(figure.value)}${betweenSizes(figure)}`,
    evidence,
    sureness: 'sure',
  };
}

export const lowerFirst = (text: string): string => text.charAt(0).toLowerCase() + text.slice(1);

function tellStory(story: PlotStory, alreadySaid: Standing | null = null): AnswerPart[] {
  const lead = leadOf(story);
  if (!lead) return [plainPart(`${story.name} is not in a photo yet`)];
  const last = story.points.findLast((point) => point.figure !== null) ?? lead;
  const parts: AnswerPart[] = [
    plainPart(`${story.name} `),
    figureTold(lead, alreadySaid),
    plainPart(lead.when === '' ? '' : `, ${lead.when}`),
  ];
  if (story.before)
    parts.push(
      plainPart(' ('),
      { text: `${signedIndex(story.before.figure.value)} just before`, evidence: story.before.evidence },
      plainPart(')'),
    );
  if (last !== lead && last.figure !== null && lead.figure !== null) {
    const now = standingOf(last.figure);
    const same = now === standingOf(lead.figure);
    parts.push(plainPart(`, ${last.when} `));
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
          : `${now} by ${indexSize(last.figure.value)}${betweenSizes(last.figure)}`,
        evidence: last.evidence,
        sureness: 'sure',
      });
  }
  return parts;
}

export function tellEach(stories: readonly PlotStory[]): AnswerPart[] {
  const standing = (story: PlotStory | undefined): Standing | null => {
    const figure = story && leadOf(story)?.figure;
    return figure ? standingOf(figure) : null;
  };
  return stories.flatMap((story, place) => [
    ...(place === 0 ? [] : [plainPart('; ')]),
    ...tellStory(story, standing(stories[place - 1])),
  ]);
}

/** As many plots are told one by one; of more, how many went which way, and the largest. */
export const TOLD_SINGLY = 3;

export function tellMany(stories: readonly PlotStory[]): AnswerPart[] {
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
  const parts: AnswerPart[] = [plainPart(`Of ${stories.length} plots `)];
  for (const [ones, words, sureness] of groups.filter(([ones]) => ones.length > 0)) {
    if (parts.length > 1) parts.push(plainPart(', '));
    parts.push({ text: `${ones.length} ${words}`, sureness });
    const most = ones.toSorted((a, b) => Math.abs(b.lead.figure?.value ?? 0) - Math.abs(a.lead.figure?.value ?? 0))[0]!;
    if (sureness === 'sure' && most.lead.figure)
      parts.push(
        plainPart(ones.length > 1 ? `, most ${most.story.name} ` : ` (${most.story.name} `),
        {
          text: `by ${indexSize(most.lead.figure.value)}${betweenSizes(most.lead.figure)}`,
          evidence: most.lead.evidence,
          sureness: 'sure',
        },
        plainPart(`${most.lead.when === '' ? '' : `, ${most.lead.when}`}${ones.length > 1 ? '' : ')'}`),
      );
  }
  return parts;
}

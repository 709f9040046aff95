import type { PlotStory, Answer, EvidenceOf } from './answer';
import { TOLD_SINGLY, tellMany, tellEach, plainPart } from './tell-plots';

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
      plainPart('. Over all days: '),
      { text: tested[0]!.replace(/\.$/, ''), evidence, sureness: 'sure' },
      plainPart('.'),
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
    plainPart('On these strips '),
    ...shown,
    plainPart('. '),
    { text: unsure, evidence: method, sureness: 'unsure' },
    plainPart(replicates < 2 ? '. Two strips of each, better four, would.' : '.'),
  ];
}

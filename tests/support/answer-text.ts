import type { Answer } from '@/lib/explain/answer';

/** An answer as it reads. */
export const answerText = (answer: Answer): string => answer.map((part) => part.text).join('');

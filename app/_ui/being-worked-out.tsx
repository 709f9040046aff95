import { after } from 'next/server';
import { askRenewal } from '@/lib/work/ask-renewal';
import { LookAgain } from './look-again';

/** Says that numbers of some photos are being worked out, and sees to it that they are; nothing where none is. @param step what is done of one photo now */
export function BeingWorkedOut({ lawnId, photos, step }: { lawnId: string; photos: number; step?: string }) {
  if (photos === 0) return null;
  after(() => askRenewal(lawnId));
  if (step !== undefined) return <LookAgain>{`This photo is being worked out anew, since something it rests on has changed. ${step} This page looks again by itself.`}</LookAgain>;
  return <LookAgain>{`${photos === 1 ? 'One photo is' : `${photos} photos are`} being worked out: something they rest on has changed. This page looks again by itself.`}</LookAgain>;
}

import { after } from 'next/server';
import { askRenewal } from '@/lib/work/ask-renewal';
import { LookAgain } from './look-again';

/** Says that numbers of some photos are being worked out, and sees to it that they are; nothing where none is. */
export function BeingWorkedOut({ lawnId, photos }: { lawnId: string; photos: number }) {
  if (photos === 0) return null;
  after(() => askRenewal(lawnId));
  return <LookAgain>{`${photos === 1 ? 'One photo is' : `${photos} photos are`} being worked out: something they rest on has changed. This page looks again by itself.`}</LookAgain>;
}

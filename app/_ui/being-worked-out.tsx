import { after } from 'next/server';
import { askRenewal, askRenewalAround } from '@/lib/work/photos/ask-renewal';
import { LookAgain } from './look-again';

/**
 * Says that numbers of some photos are being worked out, and sees to it that they are; nothing where none is.
 * @param one the photo that is looked at, with what is done of it now
 */
export function BeingWorkedOut({
  lawnId,
  photos,
  one,
}: {
  lawnId: string;
  photos: number;
  one?: { photoId: string; step: string };
}) {
  if (photos === 0) return null;
  after(() => (one ? askRenewalAround(lawnId, one.photoId) : askRenewal(lawnId)));
  if (one)
    return (
      <LookAgain>{`This photo is being worked out anew, since something it rests on has changed. ${one.step} This page looks again by itself.`}</LookAgain>
    );
  return (
    <LookAgain>{`${photos === 1 ? 'One photo is' : `${photos} photos are`} being worked out: something they rest on has changed. This page looks again by itself.`}</LookAgain>
  );
}

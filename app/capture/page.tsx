import type { Metadata } from 'next';
import Link from 'next/link';
import { currentLawn } from '@/app/_ui/current-lawn';
import { captureViewpoints } from '@/lib/work/photos/capture-start';
import { Capture } from './capture';
import { askPage } from '@/app/_ui/rights';

export const metadata: Metadata = { title: 'Take photos' };

export default async function CapturePage() {
  const lawn = await currentLawn();
  if (lawn) await askPage('works', { lawn: lawn.id });
  if (!lawn) {
    return (
      <div className="teach">
        <h1>Take photos</h1>
        <p>Photos belong to a lawn. Set one up first; a name and a time zone are enough.</p>
        <Link className="button button-main" href="/lawn">
          Set up your lawn
        </Link>
      </div>
    );
  }
  const { id, timeZone, unitSystem, latitudeDeg, longitudeDeg } = lawn;
  return (
    <>
      <h1>Take photos</h1>
      <Capture
        lawn={{ id, timeZone, unitSystem, latitudeDeg, longitudeDeg }}
        viewpoints={await captureViewpoints(lawn)}
      />
      <p className="soft">
        Shots are kept on this phone first and sent when the diary can be reached; opened once, this page opens without
        a network too. Colour is measured against the check in the same photo, so keep every plot in the picture.
      </p>
    </>
  );
}

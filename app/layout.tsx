import type { Metadata, Viewport } from 'next';
import { cookies } from 'next/headers';
import Link from 'next/link';
import type { ReactNode } from 'react';
import { currentLawn } from './_ui/current-lawn';
import { Nav } from './_ui/nav';
import { readUndo } from '@/lib/forms/bin-form';
import { undoCookie } from './bin/note-undo';
import { UndoLine } from './bin/undo-line';
import './globals.css';

export const metadata: Metadata = {
  title: { default: 'Swathbook', template: '%s · Swathbook' },
  description: 'A visual trial diary for lawn sprays.',
};

export const viewport: Viewport = { width: 'device-width', initialScale: 1 };

// Every page reads the diary as it is now.
export const dynamic = 'force-dynamic';

export default async function Layout({ children }: { children: ReactNode }) {
  const lawn = await currentLawn();
  const undo = readUndo((await cookies()).get(undoCookie)?.value);
  return (
    <html lang="en">
      <body>
        <a className="skip" href="#content">
          Skip to the page
        </a>
        <header className="frame-head">
          <div className="frame-head-row">
            <Link className="frame-name" href="/">
              Swathbook
            </Link>
            {lawn && <span className="frame-lawn">{lawn.name}</span>}
          </div>
          <Nav />
        </header>
        <main id="content">
          {undo && <UndoLine key={`${undo.kind}-${undo.id}`} {...undo} />}
          {children}
        </main>
      </body>
    </html>
  );
}

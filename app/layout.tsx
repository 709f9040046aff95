import type { Metadata, Viewport } from 'next';
import { headers } from 'next/headers';
import Link from 'next/link';
import type { ReactNode } from 'react';
import { currentLawn } from './_ui/current-lawn';
import { Nav } from './_ui/nav';
import './globals.css';

export const metadata: Metadata = {
  title: { default: 'Swathbook', template: '%s · Swathbook' },
  description: 'A visual trial diary for lawn sprays.',
};

export const viewport: Viewport = { width: 'device-width', initialScale: 1 };

// Every page reads the diary as it is now.
export const dynamic = 'force-dynamic';

export default async function Layout({ children }: { children: ReactNode }) {
  // Who follows a shared link sees that page alone: no lawn, no way to the rest.
  if ((await headers()).get('x-swathbook-visitor') === 'shared') {
    return (
      <html lang="en">
        <body>
          <main id="content">{children}</main>
        </body>
      </html>
    );
  }
  const lawn = await currentLawn();
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
        <main id="content">{children}</main>
      </body>
    </html>
  );
}

import type { Metadata, Viewport } from 'next';
import type { ReactNode } from 'react';
import './globals.css';

export const metadata: Metadata = {
  title: { default: 'Swathbook', template: '%s · Swathbook' },
  description: 'A visual trial diary for lawn sprays.',
};

export const viewport: Viewport = { width: 'device-width', initialScale: 1 };

// Every page reads the diary as it is now.
export const dynamic = 'force-dynamic';

/** `head` and `foot` are slots of their own, so that a shared page carries no word of the diary it comes from. */
export default function Layout({ children, head, foot }: { children: ReactNode; head: ReactNode; foot: ReactNode }) {
  return (
    <html lang="en">
      <body>
        <script async src="/keep-typed.js" />
        <a className="skip" href="#content">
          Skip to the page
        </a>
        {head}
        <main id="content">{children}</main>
        {foot}
      </body>
    </html>
  );
}

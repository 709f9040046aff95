'use client';
import Link from 'next/link';
import { usePathname } from 'next/navigation';

const pages = [
  { href: '/', label: 'Diary', under: ['/sprays', '/events', '/find', '/calendar', '/bin'] },
  { href: '/plan', label: 'Plan a spray', under: [] },
  { href: '/photos', label: 'Photos', under: ['/compare', '/capture'] },
  { href: '/trials', label: 'Trials', under: [] },
  { href: '/response', label: 'Response', under: [] },
  { href: '/shelf', label: 'Shelf', under: [] },
  { href: '/weather', label: 'Weather', under: [] },
  { href: '/lawn', label: 'Lawn', under: [] },
  { href: '/keep', label: 'Keep', under: [] },
] as const;

/** On a phone the row of pages scrolls: brings the current one into view, and leaves the page itself where it is. */
function bringIntoView(link: HTMLAnchorElement | null): void {
  const row = link?.parentElement;
  if (link && row) row.scrollLeft = link.offsetLeft - (row.clientWidth - link.offsetWidth) / 2;
}

export function Nav() {
  const path = usePathname();
  const isHere = (href: string, under: readonly string[]) =>
    href === '/'
      ? path === '/' || under.some((part) => path.startsWith(part))
      : path.startsWith(href) || under.some((part) => path.startsWith(part));
  return (
    <nav className="frame-nav" aria-label="Pages">
      {pages.map(({ href, label, under }) => (
        <Link
          key={href}
          href={href}
          {...(isHere(href, under) ? { 'aria-current': 'page' as const, ref: bringIntoView } : {})}
        >
          {label}
        </Link>
      ))}
    </nav>
  );
}

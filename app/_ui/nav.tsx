'use client';
import Link from 'next/link';
import { usePathname } from 'next/navigation';

const pages = [
  { href: '/', label: 'Diary', under: ['/sprays', '/find', '/calendar', '/bin'] },
  { href: '/plan', label: 'Plan a spray', under: [] },
  { href: '/photos', label: 'Photos', under: ['/compare', '/capture'] },
  { href: '/response', label: 'Response', under: [] },
  { href: '/shelf', label: 'Shelf', under: [] },
  { href: '/weather', label: 'Weather', under: [] },
  { href: '/lawn', label: 'Lawn', under: [] },
] as const;

export function Nav() {
  const path = usePathname();
  const isHere = (href: string, under: readonly string[]) =>
    href === '/' ? path === '/' || under.some((part) => path.startsWith(part)) : path.startsWith(href) || under.some((part) => path.startsWith(part));
  return (
    <nav className="frame-nav" aria-label="Pages">
      {pages.map(({ href, label, under }) => (
        <Link key={href} href={href} aria-current={isHere(href, under) ? 'page' : undefined}>
          {label}
        </Link>
      ))}
    </nav>
  );
}

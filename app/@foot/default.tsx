import Link from 'next/link';

/** The foot of every page of one's own diary. */
export default function Foot() {
  return (
    <footer className="frame-foot no-print">
      <Link href="/methods">How the numbers are made</Link>
      <Link href="/find">Find</Link>
      <Link href="/calendar">Calendar</Link>
      <Link href="/keep">Keep</Link>
      <Link href="/bin">Bin</Link>
    </footer>
  );
}

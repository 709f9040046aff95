import Link from 'next/link';

export default function NotFound() {
  return (
    <div className="sheet">
      <h1>Not in this diary</h1>
      <p>There is no such entry; it may have been moved to the bin.</p>
      <Link className="button" href="/">
        To the diary
      </Link>
    </div>
  );
}

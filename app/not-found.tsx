import Link from 'next/link';
import { nameNow } from '@/lib/work/people/rights';

export default function NotFound() {
  const name = nameNow();
  return (
    <div className="sheet">
      <h1>Not in this diary</h1>
      <p>
        There is no such entry; it may have been moved to the bin.
        {name !== null && ` Or it is not open to ${name}: whoever keeps the diary says what is.`}
      </p>
      <Link className="button" href="/">
        To the diary
      </Link>
    </div>
  );
}

import Link from 'next/link';
import { currentLawn } from '@/app/_ui/current-lawn';
import { Nav } from '@/app/_ui/nav';

/** The head of every page of one's own diary. */
export default async function Head() {
  const lawn = await currentLawn();
  return (
    <header className="frame-head">
      <div className="frame-head-row">
        <Link className="frame-name" href="/">
          Swathbook
        </Link>
        {lawn && <span className="frame-lawn">{lawn.name}</span>}
      </div>
      <Nav />
    </header>
  );
}

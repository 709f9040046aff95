import 'server-only';
import { namesOfPeople } from '@/lib/diary/people';

/** Who did something, after some words; nothing where nobody was signed in by name. */
export async function By({ words, id }: { words: string; id: string | null | undefined }) {
  if (!id) return null;
  const name = (await namesOfPeople([id])).get(id);
  return (
    <span className="soft">
      {words} {name ?? 'somebody this diary no longer knows'}.
    </span>
  );
}

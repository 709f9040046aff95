import { MapQuery } from '@/lib/forms/photo-form';
import { photoBytes } from '@/lib/work/photos/show-photo';
import { expectRight } from '@/lib/work/people/rights';

/** GET the greenness map of a photo as a PNG to lay over it, with ?from and ?to of the index its colours span. */
export async function GET(request: Request, { params }: { params: Promise<{ id: string }> }): Promise<Response> {
  await expectRight('looks', { photo: (await params).id });
  const query = MapQuery.safeParse(Object.fromEntries(new URL(request.url).searchParams));
  if (!query.success) return new Response(query.error.issues[0]?.message, { status: 400 });
  const found = await photoBytes((await params).id, query.data);
  if (!found) return new Response('No such photo in this diary.', { status: 404 });
  return new Response(found.stream, {
    headers: {
      'content-type': found.mediaType,
      'cache-control': 'private, max-age=3600',
      'x-content-type-options': 'nosniff',
    },
  });
}

import { photoBytes } from '@/lib/work/show-photo';
import { expectRight } from '@/lib/work/rights';

/** GET the greenness map of a photo as a PNG to lay over it. */
export async function GET(_request: Request, { params }: { params: Promise<{ id: string }> }): Promise<Response> {
  await expectRight('looks', { photo: (await params).id });
  const found = await photoBytes((await params).id, 'map');
  if (!found) return new Response('No such photo in this diary.', { status: 404 });
  return new Response(found.stream, { headers: { 'content-type': found.mediaType, 'cache-control': 'private, max-age=3600', 'x-content-type-options': 'nosniff' } });
}

import { PrintQuery } from '@/lib/forms/photo-form';
import { photoBytes } from '@/lib/work/photos/show-photo';
import { expectRight } from '@/lib/work/people/rights';

/**
 * GET a photo: the original, or with ?width=320|960|1600 a smaller JPEG. A photo's bytes never change, so they may be
 * kept.
 */
export async function GET(request: Request, { params }: { params: Promise<{ id: string }> }): Promise<Response> {
  await expectRight('looks', { photo: (await params).id });
  const query = PrintQuery.safeParse(Object.fromEntries(new URL(request.url).searchParams));
  if (!query.success) return new Response(query.error.issues[0]?.message, { status: 400 });
  const found = await photoBytes((await params).id, query.data.width ?? 'original');
  if (!found) return new Response('No such photo in this diary.', { status: 404 });
  return new Response(found.stream, {
    headers: {
      'content-type': found.mediaType,
      'cache-control': 'private, max-age=31536000, immutable',
      'x-content-type-options': 'nosniff',
      'content-disposition': `inline; filename*=UTF-8''${encodeURIComponent(found.fileName)}`,
    },
  });
}

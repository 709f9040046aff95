import { CutQuery } from '@/lib/forms/photo-form';
import { cutBytes } from '@/lib/work/photos/plot-cuts';
import { expectRight } from '@/lib/work/people/rights';

/**
 * GET one plot cut out of a photo from straight above: ?plot=…; with &as=… of today's outline it may be kept for good.
 */
export async function GET(request: Request, { params }: { params: Promise<{ id: string }> }): Promise<Response> {
  await expectRight('looks', { photo: (await params).id });
  const query = CutQuery.safeParse(Object.fromEntries(new URL(request.url).searchParams));
  if (!query.success) return new Response(query.error.issues[0]?.message, { status: 400 });
  const cut = await cutBytes((await params).id, query.data.plot);
  if (!cut) return new Response('No such plot in this photo.', { status: 404 });
  return new Response(new Uint8Array(cut.bytes), {
    headers: {
      'content-type': 'image/jpeg',
      'cache-control': query.data.as === cut.key ? 'private, max-age=31536000, immutable' : 'private, no-cache',
      'x-content-type-options': 'nosniff',
    },
  });
}

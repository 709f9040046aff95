import { AboveQuery } from '@/lib/forms/photo-form';
import { plotFromAbove } from '@/lib/work/photos/show-plot';
import { expectRight } from '@/lib/work/people/rights';

/** GET one plot of a photo as seen from straight above: ?plot=… (its outline must have four corners). */
export async function GET(request: Request, { params }: { params: Promise<{ id: string }> }): Promise<Response> {
  await expectRight('looks', { photo: (await params).id });
  const query = AboveQuery.safeParse(Object.fromEntries(new URL(request.url).searchParams));
  if (!query.success) return new Response(query.error.issues[0]?.message, { status: 400 });
  const picture = await plotFromAbove((await params).id, query.data.plot);
  if (!picture) return new Response('No such plot in this photo.', { status: 404 });
  return new Response(new Uint8Array(picture), {
    headers: {
      'content-type': 'image/jpeg',
      'cache-control': 'private, no-cache',
      'x-content-type-options': 'nosniff',
    },
  });
}

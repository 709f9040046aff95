import { StripQuery } from '@/lib/forms/trial-form';
import { stripBytes } from '@/lib/work/show-strip';

/** GET one plot of a photo from straight above, as a JPEG: ?plot=…&long=240|480|720. */
export async function GET(request: Request, { params }: { params: Promise<{ id: string }> }): Promise<Response> {
  const query = StripQuery.safeParse(Object.fromEntries(new URL(request.url).searchParams));
  if (!query.success) return new Response(query.error.issues[0]?.message, { status: 400 });
  const stream = await stripBytes((await params).id, query.data.plot, query.data.long);
  if (!stream) return new Response('No outlined plot like that in this photo.', { status: 404 });
  return new Response(stream, { headers: { 'content-type': 'image/jpeg', 'cache-control': 'private, max-age=300', 'x-content-type-options': 'nosniff' } });
}

import { ArchiveName, readRange } from '@/lib/forms/archive-request';
import { archiveBytes } from '@/lib/work/keep/kept-archives';
import { expectRight } from '@/lib/work/people/rights';

/** GET a kept archive, whole or (Range) from where a broken download left off. */
export async function GET(request: Request, { params }: { params: Promise<{ name: string }> }): Promise<Response> {
  await expectRight('keeps', 'diary');
  const name = ArchiveName.safeParse((await params).name);
  const found = name.success ? await archiveBytes(name.data) : null;
  if (!name.success || !found) return new Response('No such archive here.', { status: 404 });
  const headers = {
    'content-type': 'application/zip',
    'accept-ranges': 'bytes',
    'cache-control': 'private, no-store',
    'content-disposition': `attachment; filename="${name.data}"`,
  };
  const range = readRange(request.headers.get('range'), found.bytes);
  if (range === 'outside')
    return new Response(null, { status: 416, headers: { ...headers, 'content-range': `bytes */${found.bytes}` } });
  if (range === null)
    return new Response(await found.stream(0, found.bytes - 1), {
      headers: { ...headers, 'content-length': String(found.bytes) },
    });
  return new Response(await found.stream(range.from, range.to), {
    status: 206,
    headers: {
      ...headers,
      'content-length': String(range.to - range.from + 1),
      'content-range': `bytes ${range.from}-${range.to}/${found.bytes}`,
    },
  });
}

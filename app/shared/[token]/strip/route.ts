import { SharedStripQuery } from '@/lib/forms/trial-form';
import { isOfTrial } from '@/lib/work/trials/report-trial';
import { sharedTrialId } from '@/lib/work/trials/share-trial';
import { plotFromAbove } from '@/lib/work/photos/show-plot';
import { readTrial } from '@/lib/work/trials/trial-record';

/** GET one strip of a shared trial's photos, re-encoded without metadata; anything else is not there. */
export async function GET(request: Request, { params }: { params: Promise<{ token: string }> }): Promise<Response> {
  const query = SharedStripQuery.safeParse(Object.fromEntries(new URL(request.url).searchParams));
  const trialId = await sharedTrialId((await params).token);
  const record = trialId ? await readTrial(trialId) : null;
  const picture =
    query.success && record && isOfTrial(record, query.data.photo, query.data.plot)
      ? await plotFromAbove(query.data.photo, query.data.plot)
      : null;
  if (!picture) return new Response('No such picture in this link.', { status: 404 });
  return new Response(new Uint8Array(picture), {
    headers: {
      'content-type': 'image/jpeg',
      'cache-control': 'private, no-store',
      'x-content-type-options': 'nosniff',
      'referrer-policy': 'no-referrer',
    },
  });
}

import { archiveJob } from '@/lib/work/keep/archive-job';
import { expectRight } from '@/lib/work/people/rights';

/** GET how far the archive in the making is. */
export async function GET(): Promise<Response> {
  await expectRight('keeps', 'diary');
  return Response.json(await archiveJob(), { headers: { 'cache-control': 'no-store' } });
}

import { archiveJob } from '@/lib/work/archive-job';

/** GET how far the archive in the making is. */
export function GET(): Response {
  return Response.json(archiveJob(), { headers: { 'cache-control': 'no-store' } });
}

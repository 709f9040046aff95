import { checkHealth } from '@/lib/work/keep/health';

/** GET whether this diary can do its work: 200, or 503 with the parts that can't. Tells nothing of what is in it. */
export async function GET(): Promise<Response> {
  const health = await checkHealth();
  return Response.json(health, { status: health.ok ? 200 : 503, headers: { 'cache-control': 'no-store' } });
}

import { currentLawn } from '@/app/_ui/current-lawn';
import { lawnCalendar } from '@/lib/work/diary/lawn-due';

/** GET what is due on the lawn as a calendar file. */
export async function GET(): Promise<Response> {
  const lawn = await currentLawn();
  if (!lawn) return new Response('Expected a lawn to have days of, got none yet.', { status: 404 });
  return new Response(await lawnCalendar(lawn, new Date()), {
    headers: {
      'content-type': 'text/calendar; charset=utf-8',
      'content-disposition': 'attachment; filename="lawn-days.ics"',
      'cache-control': 'private, no-store',
      'x-content-type-options': 'nosniff',
    },
  });
}

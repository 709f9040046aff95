import { lawnOfCalendarToken } from '@/lib/work/diary/calendar-link';
import { lawnCalendar } from '@/lib/work/diary/lawn-due';

/** GET what is due on a lawn as a calendar file, for whoever has the private address; anything else is not there. */
export async function GET(_request: Request, { params }: { params: Promise<{ token: string }> }): Promise<Response> {
  const lawn = await lawnOfCalendarToken((await params).token);
  if (!lawn) return new Response('No such calendar.', { status: 404 });
  return new Response(await lawnCalendar(lawn, new Date()), {
    headers: {
      'content-type': 'text/calendar; charset=utf-8',
      'cache-control': 'private, no-store',
      'x-content-type-options': 'nosniff',
      'referrer-policy': 'no-referrer',
    },
  });
}

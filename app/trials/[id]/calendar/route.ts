import { trialCalendar } from '@/lib/work/trials/trial-days';
import { readTrial } from '@/lib/work/trials/trial-record';
import { expectRight } from '@/lib/work/people/rights';

/** GET the trial's photo days as a calendar file. */
export async function GET(_request: Request, { params }: { params: Promise<{ id: string }> }): Promise<Response> {
  await expectRight('looks', { trial: (await params).id });
  const record = await readTrial((await params).id);
  if (!record) return new Response('No such trial in this diary.', { status: 404 });
  return new Response(trialCalendar(record, new Date()), {
    headers: {
      'content-type': 'text/calendar; charset=utf-8',
      'content-disposition': 'attachment; filename="trial-days.ics"',
      'x-content-type-options': 'nosniff',
    },
  });
}

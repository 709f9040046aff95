import { currentLawn } from '@/app/_ui/current-lawn';
import { eventRecordsCsv } from '@/lib/work/diary/event-records';

export async function GET(): Promise<Response> {
  const lawn = await currentLawn();
  const csv = lawn ? await eventRecordsCsv(lawn.id) : null;
  if (csv === null) return new Response('Expected a lawn with events, got an empty diary.', { status: 404 });
  return new Response(csv, {
    headers: {
      'content-type': 'text/csv; charset=utf-8',
      'content-disposition': 'attachment; filename="lawn-events.csv"',
      'cache-control': 'no-store',
    },
  });
}

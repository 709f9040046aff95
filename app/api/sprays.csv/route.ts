import { currentLawn } from '@/app/_ui/current-lawn';
import { sprayRecordsCsv } from '@/lib/work/sprays/spray-records';

export async function GET(): Promise<Response> {
  const lawn = await currentLawn();
  const csv = lawn ? await sprayRecordsCsv(lawn.id) : null;
  if (csv === null) return new Response('Expected a lawn with sprays, got an empty diary.', { status: 404 });
  return new Response(csv, {
    headers: {
      'content-type': 'text/csv; charset=utf-8',
      'content-disposition': 'attachment; filename="spray-records.csv"',
      'cache-control': 'no-store',
    },
  });
}

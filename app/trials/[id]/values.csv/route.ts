import { trialCsv } from '@/lib/work/trials/trial-csv';
import { readTrial } from '@/lib/work/trials/trial-record';
import { expectRight } from '@/lib/work/people/rights';

/** GET every value of the trial in long form. */
export async function GET(_request: Request, { params }: { params: Promise<{ id: string }> }): Promise<Response> {
  await expectRight('looks', { trial: (await params).id });
  const record = await readTrial((await params).id);
  if (!record) return new Response('No such trial in this diary.', { status: 404 });
  return new Response(trialCsv(record), {
    headers: {
      'content-type': 'text/csv; charset=utf-8',
      'content-disposition': 'attachment; filename="trial-values.csv"',
      'x-content-type-options': 'nosniff',
    },
  });
}

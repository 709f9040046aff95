import { dataDictionaryCsv } from '@/lib/trial/long-csv';
import { expectRight } from '@/lib/work/people/rights';

/** GET what each column of the values means. */
export async function GET(): Promise<Response> {
  await expectRight('looks', 'some-lawn');
  return new Response(dataDictionaryCsv(), {
    headers: {
      'content-type': 'text/csv; charset=utf-8',
      'content-disposition': 'attachment; filename="trial-columns.csv"',
      'x-content-type-options': 'nosniff',
    },
  });
}

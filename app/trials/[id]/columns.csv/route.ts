import { dataDictionaryCsv } from '@/lib/trial/long-csv';

/** GET what each column of the values means. */
export function GET(): Response {
  return new Response(dataDictionaryCsv(), { headers: { 'content-type': 'text/csv; charset=utf-8', 'content-disposition': 'attachment; filename="trial-columns.csv"', 'x-content-type-options': 'nosniff' } });
}

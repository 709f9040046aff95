import { findLawn } from '@/lib/diary/lawns';
import { WeatherExportQuery } from '@/lib/forms/queries/weather-query';
import { exportWeather } from '@/lib/work/weather/export-weather';
import { expectRight } from '@/lib/work/people/rights';

/** GET a lawn's weather hours as CSV, units in the headings: /api/weather/export?lawn=…&year=… */
export async function GET(request: Request): Promise<Response> {
  const query = WeatherExportQuery.safeParse(Object.fromEntries(new URL(request.url).searchParams));
  if (!query.success)
    return Response.json(
      { ok: false, message: query.error.issues[0]?.message ?? 'The address could not be read.' },
      { status: 400 },
    );
  await expectRight('looks', { lawn: query.data.lawn });
  const lawn = await findLawn(query.data.lawn);
  if (!lawn)
    return Response.json(
      { ok: false, message: 'Lawn: expected a lawn of this diary, got one that is not there any more.' },
      { status: 404 },
    );
  const pieces = exportWeather(lawn, query.data.year ?? null);
  const encoder = new TextEncoder();
  const body = new ReadableStream<Uint8Array>({
    async pull(controller) {
      const { done, value } = await pieces.next();
      if (done) controller.close();
      else controller.enqueue(encoder.encode(value));
    },
    async cancel() {
      await pieces.return(undefined);
    },
  });
  return new Response(body, {
    headers: {
      'content-type': 'text/csv; charset=utf-8',
      'content-disposition': `attachment; filename="weather-hours${query.data.year === undefined ? '' : `-${query.data.year}`}.csv"`,
    },
  });
}

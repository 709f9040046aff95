import { WeatherUploadQuery } from '@/lib/forms/weather/weather-file';
import { keepWeatherFile } from '@/lib/work/weather/take-weather-file';
import { expectRight } from '@/lib/work/people/rights';

/** PUT one logger's file, its bytes as the body: PUT /api/weather/files?lawn=…&name=… Nothing is imported by it. */
export async function PUT(request: Request): Promise<Response> {
  const query = WeatherUploadQuery.safeParse(Object.fromEntries(new URL(request.url).searchParams));
  if (!query.success)
    return Response.json(
      { ok: false, message: query.error.issues[0]?.message ?? 'The address could not be read.' },
      { status: 400 },
    );
  await expectRight('works', { lawn: query.data.lawn });
  if (!request.body)
    return Response.json(
      { ok: false, message: 'Expected a table of readings as the body, got nothing.' },
      { status: 400 },
    );
  const kept = await keepWeatherFile(request.body, { lawnId: query.data.lawn, name: query.data.name });
  return Response.json(kept, { status: kept.ok ? 200 : kept.status });
}

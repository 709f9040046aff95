import { AskServiceForm } from '@/lib/forms/weather/weather-service';
import { findLawn } from '@/lib/diary/lawns';
import { askWeatherService } from '@/lib/work/weather/ask-weather-service';
import { instantOfLocal } from '@/lib/work/diary/lawn-time';
import { expectRight } from '@/lib/work/people/rights';

/**
 * POST { lawn, from?, to? }: asks the weather service and answers { ok, sentence } once it has answered or given up.
 */
export async function POST(request: Request): Promise<Response> {
  const asked = AskServiceForm.safeParse(await request.json().catch(() => null));
  if (!asked.success)
    return Response.json(
      { ok: false, sentence: asked.error.issues[0]?.message ?? 'The question could not be read.' },
      { status: 400 },
    );
  const { lawn: lawnId, from, to } = asked.data;
  await expectRight('works', { lawn: lawnId });
  const lawn = await findLawn(lawnId);
  if (!lawn)
    return Response.json(
      { ok: false, sentence: 'Lawn: expected a lawn of this diary, got one that is not there any more.' },
      { status: 404 },
    );
  const span =
    from && to
      ? { from: instantOfLocal(`${from}T00:00`, lawn.timeZone), to: instantOfLocal(`${to}T23:59`, lawn.timeZone) }
      : undefined;
  return Response.json(await askWeatherService(lawnId, new Date(), span));
}

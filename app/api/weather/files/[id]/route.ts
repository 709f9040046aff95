import { WeatherFileOrder } from '@/lib/forms/weather/weather-file';
import {
  checkWeatherFile,
  dropWeatherFile,
  importWeatherFile,
  type FileProgress,
} from '@/lib/work/weather/take-weather-file';
import { expectRight } from '@/lib/work/people/rights';

type Params = { params: Promise<{ id: string }> };
const tellEveryMs = 150;

/**
 * POST { lawn, write, mapping }: reads a waiting file through, or takes it in. Answers line by line, each line JSON:
 * { progress } while it goes on, { result } last. The work goes on when nobody listens any more.
 */
export async function POST(request: Request, { params }: Params): Promise<Response> {
  const { id } = await params;
  const order = WeatherFileOrder.safeParse(await request.json().catch(() => null));
  if (!order.success)
    return Response.json(
      { ok: false, message: order.error.issues[0]?.message ?? 'The order could not be read.' },
      { status: 400 },
    );
  const { lawn, write, mapping } = order.data;
  await expectRight('works', { lawn });
  const encoder = new TextEncoder();
  let listening = true;
  const lines = new ReadableStream<Uint8Array>({
    async start(controller) {
      const tell = (line: object) => {
        if (listening) controller.enqueue(encoder.encode(`${JSON.stringify(line)}\n`));
      };
      let told = 0;
      const onProgress = (progress: FileProgress) => {
        if (Date.now() - told < tellEveryMs) return;
        told = Date.now();
        tell({ progress });
      };
      try {
        tell({ result: await (write ? importWeatherFile : checkWeatherFile)(lawn, id, mapping, onProgress) });
      } catch (error) {
        console.error(error);
        tell({
          result: {
            ok: false,
            message:
              'The diary could not take the file in; what was written of it is taken back. The file still waits: try again.',
          },
        });
      }
      if (listening) controller.close();
    },
    cancel() {
      listening = false;
    },
  });
  return new Response(lines, { headers: { 'content-type': 'application/x-ndjson', 'cache-control': 'no-store' } });
}

/** DELETE a waiting file that is not wanted. */
export async function DELETE(_request: Request, { params }: Params): Promise<Response> {
  await expectRight('works', 'some-lawn');
  await dropWeatherFile((await params).id);
  return Response.json({ ok: true });
}

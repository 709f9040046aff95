import { spawn, type ChildProcess } from 'node:child_process';
import { benchJpeg } from '../../darkroom/bench-photo';
import { seededRandom } from '../../stats/random';
import { freePort } from './free-port';

/** A drawn lawn. */
export async function drawLoadJpeg([width, height]: readonly [number, number] = [400, 300]): Promise<Buffer> {
  const random = seededRandom('load photo');
  const data = new Uint8Array(width * height * 3);
  for (let at = 0; at < data.length; at += 3) {
    const blade = Math.round(5 * random.normal());
    data[at] = 80 + blade;
    data[at + 1] = 115 + blade;
    data[at + 2] = 50 + blade;
  }
  return Buffer.from(await benchJpeg({ width, height, channels: 3, space: 'srgb', data }));
}

/** Serves a diary in a folder, with settings of its own. */
export async function serveLoad(
  folder: string,
  settings: Readonly<Record<string, string>> = {},
): Promise<{ url: string; child: ChildProcess }> {
  const port = await freePort();
  const child = spawn(process.execPath, ['lib/commands/front.mjs'], {
    stdio: ['ignore', 'ignore', 'inherit'],
    env: {
      ...process.env,
      NODE_ENV: 'production',
      NEXT_TELEMETRY_DISABLED: '1',
      SWATHBOOK_DATA: folder,
      HOST: '127.0.0.1',
      PORT: String(port),
      SWATHBOOK_LOG: 'error',
      ...settings,
    },
  });
  const url = `http://127.0.0.1:${port}`;
  for (let i = 0; i < 600; i++) {
    if (
      await fetch(`${url}/api/health`).then(
        () => true,
        () => false,
      )
    )
      return { url, child };
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
  throw new Error('the server gave no answer within a minute');
}

export async function timed(address: string): Promise<{ ms: number; bytes: number; status: number }> {
  const started = performance.now();
  const answer = await fetch(address);
  const bytes = (await answer.arrayBuffer()).byteLength;
  return { ms: performance.now() - started, bytes, status: answer.status };
}

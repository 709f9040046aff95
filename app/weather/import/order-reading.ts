'use client';
import type { FileFound, FileProgress } from '@/lib/work/weather/take-weather-file';

type ReadingRefused = { ok: false; message: string };

export type ReadingDone = FileFound & { importId?: string; sprays?: number };

/** Reads the answer line by line, telling progress as it comes. */
export async function orderReading(
  fileId: string,
  body: object,
  onProgress: (progress: FileProgress) => void,
): Promise<ReadingDone | ReadingRefused> {
  try {
    const response = await fetch(`/api/weather/files/${fileId}`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify(body),
    });
    if (!response.ok || !response.body)
      return (
        ((await response.json().catch(() => null)) as ReadingRefused | null) ?? {
          ok: false,
          message: `The server answered ${response.status} without a word of why.`,
        }
      );
    const reader = response.body.pipeThrough(new TextDecoderStream()).getReader();
    let rest = '';
    for (;;) {
      const { done, value } = await reader.read();
      if (done) return { ok: false, message: 'The answer broke off; look under Files whether the import is there.' };
      const lines = (rest + value).split('\n');
      rest = lines.pop() ?? '';
      for (const line of lines) {
        const told = JSON.parse(line) as { progress?: FileProgress; result?: ReadingDone | ReadingRefused };
        if (told.progress) onProgress(told.progress);
        if (told.result) return told.result;
      }
    }
  } catch {
    return { ok: false, message: 'The connection broke off; the file still waits here, try again.' };
  }
}

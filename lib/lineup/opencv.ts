import 'server-only';
import { loadOpenCV, type OpenCV } from '@opencvjs/node';

export type Cv = typeof OpenCV;

let loading: Promise<Cv> | undefined;

/** The image library, loaded once a process or worker (about 0.4 s and 80 MB). */
export function opencv(): Promise<Cv> {
  loading ??= loadOpenCV();
  return loading;
}

/** The library throws bare numbers; this makes their message readable. */
export function opencvMessage(cv: Cv, thrown: unknown): string {
  if (typeof thrown !== 'number') return thrown instanceof Error ? thrown.message : String(thrown);
  return cv.exceptionFromPtr(thrown as never).msg ?? `OpenCV error ${thrown}`;
}

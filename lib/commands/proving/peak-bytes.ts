import { readFileSync } from 'node:fs';

/**
 * The most memory a process has held so far, as the kernel counts it (VmHWM of /proc/PID/status); 0 where it doesn't
 * say.
 */
export function peakBytesOf(pid: number | undefined): number {
  try {
    return Number(/VmHWM:\s+(\d+) kB/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))?.[1] ?? 0) * 1024;
  } catch {
    return 0;
  }
}

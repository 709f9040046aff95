import 'server-only';
import { spawnSync } from 'node:child_process';
import { median } from '../../stats/describe';

/**
 * What some work took: by the clock, and of the processors. Others at work on the machine make the clock run on, the
 * processors' time less so.
 */
export interface Cost {
  readonly wallMs: number;
  readonly cpuMs: number;
}

export async function cost(work: () => Promise<unknown> | unknown): Promise<Cost> {
  const start = performance.now();
  const before = process.cpuUsage();
  await work();
  const { user, system } = process.cpuUsage(before);
  return { wallMs: performance.now() - start, cpuMs: (user + system) / 1000 };
}

export function middle(costs: readonly Cost[]): Cost {
  return { wallMs: median(costs.map((c) => c.wallMs)), cpuMs: median(costs.map((c) => c.cpuMs)) };
}

export function line({ wallMs, cpuMs }: Cost, what: string): void {
  console.log(`${wallMs.toFixed(0).padStart(7)} ms ${cpuMs.toFixed(0).padStart(7)} ms  ${what}`);
}

/** Runs a program to its end. @returns its cost, or null where it can't be run */
export function runCost(program: string, args: readonly string[]): Cost | null {
  const timed = spawnSync(
    'bash',
    ['-c', 'TIMEFORMAT="%R %U %S"; time "$0" "$@" >/dev/null 2>/dev/null', program, ...args],
    { encoding: 'utf8' },
  );
  const [wall, user, system] = (timed.stderr.trim().split('\n').at(-1) ?? '').split(' ').map(Number) as [
    number,
    number,
    number,
  ];
  return timed.status === 0 ? { wallMs: wall * 1000, cpuMs: (user + system) * 1000 } : null;
}

export function peakMemory(): void {
  console.log(`${(process.resourceUsage().maxRSS / 1024).toFixed(0).padStart(7)} MB  peak memory`);
}

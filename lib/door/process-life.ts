import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';

/**
 * A process's state and its start in kernel ticks since boot (fields 3 and 22 of /proc/PID/stat), or null where there
 * is no such file.
 */
function kernelFacts(pid: number): { state: string; ticks: string } | null {
  try {
    const text = readFileSync(`/proc/${pid}/stat`, 'utf8');
    const fields = text.slice(text.lastIndexOf(')') + 2).split(' ');
    return { state: fields[0] ?? '', ticks: fields[19] ?? '' };
  } catch {
    return null;
  }
}

function bootId(): string {
  try {
    return readFileSync('/proc/sys/kernel/random/boot_id', 'utf8').slice(0, 8);
  } catch {
    return '';
  }
}

/**
 * When a process began, in words that no other process of its number has: boot and ticks where the kernel tells them,
 * else the date `ps` gives; null when neither does.
 */
export function startOf(pid: number): string | null {
  const facts = kernelFacts(pid);
  if (facts !== null) return `${bootId()}-${facts.ticks}`;
  const told = spawnSync('ps', ['-o', 'lstart=', '-p', String(pid)], { encoding: 'utf8' });
  return told.status === 0 && told.stdout.trim() !== '' ? told.stdout.trim() : null;
}

/**
 * Whether the process of this number still runs and is the one that began then. A dead one that nobody has collected
 * yet doesn't.
 */
export function isRunning(pid: number, born: string | null): boolean {
  try {
    process.kill(pid, 0);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EPERM') return false;
  }
  const state = kernelFacts(pid)?.state;
  if (state === 'Z' || state === 'X') return false;
  const now = startOf(pid);
  return born === null || now === null || born === now;
}

import { mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import path from 'node:path';

/** One server at a time uses a data folder: it leaves a note there while it runs, which a killed one can't hold on to. */
const note = 'serving.json';

export interface Serving {
  readonly pid: number;
  readonly address: string;
  /** When that process began, as the kernel counts it, so that another process of the same number is told apart; null where it can't be known. */
  readonly born: string | null;
}

/** A process's state and its start in kernel ticks since boot (fields 3 and 22 of /proc/PID/stat), or null where there is no such file. */
function kernelFacts(pid: number): { state: string; born: string } | null {
  try {
    const text = readFileSync(`/proc/${pid}/stat`, 'utf8');
    const fields = text.slice(text.lastIndexOf(')') + 2).split(' ');
    return { state: fields[0] ?? '', born: fields[19] ?? '' };
  } catch {
    return null;
  }
}

function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}

/** The server that uses this data folder now, or null. */
export function servingNow(dataFolder: string): Serving | null {
  try {
    const serving = JSON.parse(readFileSync(path.join(dataFolder, note), 'utf8')) as Serving;
    if (!Number.isInteger(serving.pid) || serving.pid === process.pid || !isAlive(serving.pid)) return null;
    const facts = kernelFacts(serving.pid);
    // A dead process that nobody has collected yet still has its number.
    if (facts !== null && (facts.state === 'Z' || facts.state === 'X')) return null;
    return facts !== null && serving.born !== null && facts.born !== serving.born ? null : serving;
  } catch {
    return null;
  }
}

/** Takes the data folder for this process. @returns the server that has it already, or null when it is ours now */
export function takeFolder(dataFolder: string, address: string): Serving | null {
  const other = servingNow(dataFolder);
  if (other !== null) return other;
  mkdirSync(dataFolder, { recursive: true });
  writeFileSync(path.join(dataFolder, note), JSON.stringify({ pid: process.pid, address, born: kernelFacts(process.pid)?.born ?? null } satisfies Serving));
  return null;
}

export function leaveFolder(dataFolder: string): void {
  rmSync(path.join(dataFolder, note), { force: true });
}

import { readFileSync } from 'node:fs';

/**
 * The numbers of a process's parent, its parent's parent and so on, `count` of them where the kernel tells; else only
 * this process's own parent.
 */
export function parentsOf(pid, count) {
  const parents = [];
  for (let at = pid; parents.length < count && at > 1;) {
    try {
      const stat = readFileSync(`/proc/${at}/stat`, 'utf8');
      at = Number(stat.slice(stat.lastIndexOf(')') + 2).split(' ')[1]);
    } catch {
      return pid === process.pid && parents.length === 0 ? [process.ppid] : parents;
    }
    parents.push(at);
  }
  return parents;
}

import 'server-only';
import fs from 'node:fs';
import path from 'node:path';

/** A table of the diary, as the schema declares it. */
export interface Table {
  readonly name: string;
  /** The columns that name a row. */
  readonly key: readonly string[];
  /** Columns of JSON: a missing value has to be written as such there. */
  readonly json: readonly string[];
  /** Tables that must hold what this one's rows point at. */
  readonly parents: readonly string[];
}

/** The diary's tables, each after those its rows point at. @throws Error when two point at each other */
export function diaryTables(
  schema = fs.readFileSync(path.join(/* turbopackIgnore: true */ process.cwd(), 'prisma/schema.prisma'), 'utf8'),
): Table[] {
  const tables = [...schema.matchAll(/^model (\w+) \{\n([\s\S]*?)^\}/gm)].map(([, name, body]): Table => {
    const lines = body!.split('\n').map((line) => line.replace(/\/\/.*/, '').trim());
    const own = lines.filter((line) => /^\w+\s+\w+[?]?.*\s@id\b/.test(line)).map((line) => line.split(/\s+/)[0]!);
    const together = lines.map((line) => /^@@id\(\[([^\]]+)\]/.exec(line)?.[1]).find((found) => found !== undefined);
    return {
      name: name!,
      key: together === undefined ? own : together.split(',').map((part) => part.trim()),
      json: lines.filter((line) => /^\w+\s+Json\b/.test(line)).map((line) => line.split(/\s+/)[0]!),
      parents: lines
        .flatMap((line) => /^\w+\s+(\w+)\??\s+@relation\(.*fields:/.exec(line)?.[1] ?? [])
        .filter((parent) => parent !== name),
    };
  });
  const ordered: Table[] = [];
  while (ordered.length < tables.length) {
    const next = tables.find(
      (table) =>
        !ordered.includes(table) && table.parents.every((parent) => ordered.some((done) => done.name === parent)),
    );
    if (next === undefined)
      throw new Error(
        'diaryTables: expected tables that can be filled one after another, got some that point at each other',
      );
    ordered.push(next);
  }
  return ordered;
}

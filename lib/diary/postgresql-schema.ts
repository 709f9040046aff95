import 'server-only';
/**
 * What each type of a column is on PostgreSQL, where Prisma's own choice would lose something: JSON keeps the order of
 * its keys, an instant its zone.
 */
const NATIVE: Readonly<Record<string, string>> = { Json: '@db.Json', DateTime: '@db.Timestamptz(3)' };

const HEADER = '// Made from ../schema.prisma by `npm run migrate -- draft NAME`: never edited by hand.\n\n';

/**
 * The same diary for PostgreSQL: the SQLite schema's text with the other provider, a client of its own and PostgreSQL's
 * types.
 * @returns a whole Prisma schema
 */
export function postgresqlSchema(sqliteSchema: string): string {
  const lines = sqliteSchema.split('\n').map((line) => {
    if (/^\s*provider\s*=\s*"sqlite"/.test(line)) return line.replace('sqlite', 'postgresql');
    if (/^\s*provider\s*=\s*"prisma-client-js"/.test(line))
      return `${line}\n  output   = "../../node_modules/.prisma/client-postgresql"`;
    const field = /^(\s+\w+\s+)(Json|DateTime)(\?|\[\])?/.exec(line);
    if (field === null) return line;
    const [whole, , type] = field;
    return `${whole} ${NATIVE[type!]!}${line.slice(whole.length)}`;
  });
  return HEADER + lines.join('\n').replace(/^\/\/ SQLite has no enums.*\n/m, '');
}

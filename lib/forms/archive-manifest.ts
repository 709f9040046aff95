import { z } from 'zod';

/** The manifest inside an archive, as text. */
const kind = 'swathbook-archive';
const layout = 1;

const Manifest = z.object({
  kind: z.literal(kind, { error: 'Expected an archive made by Swathbook, got a manifest of another kind.' }),
  layout: z.literal(layout, {
    error: (issue) =>
      `Expected an archive of layout ${layout}, got ${issue.input === undefined ? 'no layout at all' : `layout ${String(issue.input).slice(0, 20)}: it was made by another version`}.`,
  }),
  madeAt: z.iso.datetime({ error: 'Expected the manifest to say when the archive was made, got no such date.' }),
  program: z.string().max(40),
  migrations: z
    .array(z.string().regex(/^\d{14}_[a-z0-9_]+$/, 'Expected names of migrations in the manifest, got something else.'))
    .min(1, 'Expected the manifest to name the migrations of its database, got none.')
    .max(10_000),
  entries: z.array(
    z.object({
      name: z.string().max(300),
      bytes: z.number().int().min(0),
      sha256: z
        .string()
        .regex(/^[0-9a-f]{64}$/, 'Expected a SHA-256 of 64 hex digits in the manifest, got something else.'),
    }),
  ),
  missing: z.array(z.string().max(300)),
});

export interface ManifestFacts {
  readonly madeAt: Date;
  readonly program: string;
  readonly migrations: readonly string[];
  readonly entries: readonly { name: string; bytes: number; sha256: string }[];
  readonly missing: readonly string[];
}

/** Reads a manifest. @throws Error with one sentence: what was expected, what came */
export function parseArchiveManifest(text: string): ManifestFacts {
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch (error) {
    throw new Error('Expected the manifest to be JSON, got something else.', { cause: error });
  }
  const parsed = Manifest.safeParse(json);
  if (!parsed.success) {
    const issue = parsed.error.issues[0];
    const words = issue?.message ?? '';
    throw new Error(
      words.startsWith('Expected')
        ? words
        : `Expected a manifest that can be read, got trouble at ${issue?.path.join('.') || 'its start'}: ${words}.`,
    );
  }
  return { ...parsed.data, madeAt: new Date(parsed.data.madeAt) };
}

export function archiveManifestText(facts: ManifestFacts): string {
  return `${JSON.stringify({ kind, layout, ...facts, madeAt: facts.madeAt.toISOString() }, null, 1)}\n`;
}

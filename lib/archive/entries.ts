import 'server-only';

/** Names inside an archive: one database, one manifest, photos under their hash; nothing else is allowed in. */
export const databaseEntry = 'diary.db';
export const manifestEntry = 'manifest.json';

/** The hash of a photo's bytes as its entry's name tells it, or null when the entry is no photo. */
export function hashOfPhotoEntry(name: string): string | null {
  const match = /^photos\/([0-9a-f]{2})\/(\1[0-9a-f]{62})\.[a-z]{3,4}$/.exec(name);
  return match?.[2] ?? null;
}

/** One file in an archive. */
export interface ArchiveEntry {
  readonly name: string;
  readonly bytes: number;
  readonly sha256: string;
}

/** What an archive says of itself. */
export interface ArchiveManifest {
  readonly madeAt: Date;
  readonly program: string;
  readonly migrations: readonly string[];
  readonly entries: readonly ArchiveEntry[];
  /** Photos that the diary lists but whose files were gone or damaged when the archive was made. */
  readonly missing: readonly string[];
}

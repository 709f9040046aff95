import 'server-only';

/** An archive that can't be used, or can't be made, in one sentence: what was expected, what came. */
export class ArchiveRefused extends Error {
  override readonly name = 'ArchiveRefused';
}

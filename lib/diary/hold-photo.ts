import 'server-only';
import { diary } from './client';

/**
 * First in a transaction that replaces what was worked out of a photo: another process that replaces the same waits for
 * its end and then finds what it left. Without it two workers on one photo meet in the unique rows.
 */
export const holdPhoto = (photoId: string) =>
  diary().$executeRaw`UPDATE "Photo" SET "measureState" = "measureState" WHERE "id" = ${photoId}`;

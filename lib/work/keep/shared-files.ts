import 'server-only';
import { hasBucket } from '@/lib/darkroom/bucket';
import { postgresqlUrl } from '@/lib/diary/engine';

/**
 * Where files that one process makes and another may be asked for lie: where the photos lie. Several processes on one
 * database have a store for them, or else one data folder.
 */
export const filesLieInStore = (): boolean => hasBucket() && postgresqlUrl() !== undefined;

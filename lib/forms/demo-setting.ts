import { z } from 'zod';
import { idField } from './fields';

const DemoLawn = z.object({ lawnId: idField, productIds: z.array(idField) });

/** What the diary remembers of the demo lawn; null when it remembers nothing readable. */
export function readDemoSetting(value: unknown): z.output<typeof DemoLawn> | null {
  const parsed = DemoLawn.safeParse(value);
  return parsed.success ? parsed.data : null;
}

'use client';
import { ActionForm } from '@/app/_ui/action-form';
import { Choose, Field } from '@/app/_ui/field';
import type { FormResult } from '@/lib/forms/result';

/** Keeps a strip in one photo, or a whole photo, out of the analysis; the reason is asked for and kept. */
export function LeaveOutForm({
  action,
  photos,
  strips,
}: {
  action: (previous: FormResult, data: FormData) => Promise<FormResult>;
  photos: { id: string; on: string }[];
  strips: { id: string; label: string }[];
}) {
  if (photos.length === 0) return null;
  return (
    <ActionForm action={action} submit="Leave it out">
      <div className="fields">
        <Choose
          name="photoId"
          label="Photo of"
          choices={photos.map((photo) => ({ value: photo.id, label: photo.on }))}
        />
        <Choose
          name="plotId"
          label="Strip"
          choices={[
            { value: '', label: 'every strip in it' },
            ...strips.map((strip) => ({ value: strip.id, label: strip.label })),
          ]}
        />
        <Field name="reason" label="Reason" hint="Something you can see in the photo, not in the numbers." />
      </div>
    </ActionForm>
  );
}

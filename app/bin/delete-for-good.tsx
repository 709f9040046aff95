'use client';
import { deleteForGood } from './actions';

/** Asks, then removes a photo with its file. */
export function DeleteForGood({ id, label }: { id: string; label: string }) {
  return (
    <form
      action={deleteForGood}
      onSubmit={(event) => {
        if (
          !confirm(
            `Delete ${label} for good? Its file, its readings and its marks go with it, and nothing brings them back but an archive.`,
          )
        )
          event.preventDefault();
      }}
    >
      <input type="hidden" name="kind" value="photo" />
      <input type="hidden" name="id" value={id} />
      <button type="submit" className="button-warn">
        Delete for good
      </button>
    </form>
  );
}

'use client';
import Link from 'next/link';
import { ActionForm } from '@/app/_ui/action-form';
import type { FormResult } from '@/lib/forms/result';

/** Strips without names, each with the nine points of the scale. */
export function RateForm({
  action,
  rater,
  back,
  strips,
}: {
  action: (previous: FormResult, data: FormData) => Promise<FormResult>;
  rater: string;
  back: string;
  strips: { number: number; photoId: string; plotId: string }[];
}) {
  return (
    <ActionForm
      action={action}
      submit="Keep the scores"
      secondary={
        <Link className="button" href={back}>
          Back to the trial
        </Link>
      }
    >
      <input type="hidden" name="rater" value={rater} />
      <div className="rate-grid">
        {strips.map((strip, index) => (
          <fieldset key={strip.number} className="rate-card">
            <legend>Strip picture {strip.number}</legend>
            <img
              src={`/api/photos/${strip.photoId}/above?plot=${strip.plotId}`}
              alt={`Strip picture ${strip.number}, unnamed`}
              loading="lazy"
              height={384}
            />
            <input type="hidden" name={`scores.${index}.photoId`} value={strip.photoId} />
            <input type="hidden" name={`scores.${index}.plotId`} value={strip.plotId} />
            <div className="scores">
              {[1, 2, 3, 4, 5, 6, 7, 8, 9].map((score) => (
                <label key={score}>
                  <input
                    type="radio"
                    name={`scores.${index}.score`}
                    value={score}
                    aria-label={`Strip picture ${strip.number}: ${score}`}
                  />
                  <span aria-hidden="true">{score}</span>
                </label>
              ))}
            </div>
          </fieldset>
        ))}
      </div>
    </ActionForm>
  );
}

import type { Metadata } from 'next';
import Link from 'next/link';
import { currentLawn } from '@/app/_ui/current-lawn';
import { COLUMN_FIELDS, COLUMN_KINDS } from '@/lib/forms/weather/weather-columns';
import { listWeatherFiles, previewWeatherFile } from '@/lib/work/weather/take-weather-file';
import { fieldNames, unitName } from '../field-names';
import { ReadColumns } from './read-columns';
import { UploadFile } from './upload-file';
import { readerOf } from '@/lib/units/dates';
import { askPage } from '@/app/_ui/rights';
import { mayDo } from '@/lib/work/people/rights';

export const metadata: Metadata = { title: 'Import weather hours' };

export default async function ImportPage({ searchParams }: { searchParams: Promise<{ file?: string | string[] }> }) {
  const lawn = await currentLawn();
  if (lawn) await askPage('works', { lawn: lawn.id });
  const { file } = await searchParams;
  const fileId = typeof file === 'string' ? file : null;
  const waiting = lawn && fileId ? await previewWeatherFile(fileId, lawn.timeZone) : null;
  if (!lawn) {
    return (
      <div className="teach">
        <h1>Import weather hours</h1>
        <p>
          Hours belong to a lawn: <Link href="/lawn">set it up first</Link>.
        </p>
      </div>
    );
  }
  if (!waiting) {
    // Files wait without a lawn: only who sees every lawn is shown what others left.
    const others = (await mayDo('keeps', 'diary')) ? await listWeatherFiles() : [];
    return (
      <>
        <h1>Import weather hours</h1>
        {fileId && <p className="notice notice-bad">That file is not waiting here any more; choose it again.</p>}
        <p>
          A table of readings from any weather station or logger, as CSV: a column with the time, one or more with
          figures. Nothing is kept in the diary until you have seen how it is read.
        </p>
        <UploadFile lawnId={lawn.id} />
        {others.length > 0 && (
          <section className="sheet">
            <h2>Files that wait</h2>
            <ul>
              {others.map((entry) => (
                <li key={entry.id} style={{ overflowWrap: 'anywhere' }}>
                  <Link href={`/weather/import?file=${entry.id}`}>{entry.name}</Link>{' '}
                  <span className="soft">{(entry.bytes / 1e6).toFixed(1)} MB, not imported yet</span>
                </li>
              ))}
            </ul>
          </section>
        )}
      </>
    );
  }
  return (
    <>
      <h1 style={{ overflowWrap: 'anywhere' }}>{waiting.file.name}</h1>
      <ReadColumns
        lawnId={lawn.id}
        reader={readerOf(lawn)}
        fileId={waiting.file.id}
        preview={waiting.preview}
        fields={COLUMN_FIELDS.map((field) => ({
          field,
          name: fieldNames[field],
          units: COLUMN_KINDS[field].units.map((unit) => ({ value: unit, label: unitName(unit) })),
        }))}
      />
    </>
  );
}

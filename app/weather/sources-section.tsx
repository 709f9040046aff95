import { SERVICE_WIND_HEIGHT_M } from '@/lib/weather/wind';
import Link from 'next/link';
import { ActionForm } from '@/app/_ui/action-form';
import { dayText, momentText, spanText } from '@/lib/units/dates';
import { Choose, Field, Tick } from '@/app/_ui/field';
import type { Lawn } from '@/lib/diary/lawns';
import { COLUMN_FIELDS, COLUMN_KINDS } from '@/lib/forms/weather/weather-columns';
import { USUAL_NAMES, type ServiceSettings } from '@/lib/forms/weather/weather-service';
import type { ServiceOutcome } from '@/lib/work/weather/ask-weather-service';
import type { listWeatherImports } from '@/lib/work/weather/take-weather-file';
import { dropServiceHours, saveService, undoImport } from './actions';
import { AskService } from './ask-service';
import { lookAtService } from './actions';
import { fieldNames, unitName } from './field-names';
import { MatchAnswer } from './match-answer';

type Imports = Awaited<ReturnType<typeof listWeatherImports>>;
const staleMs = 60 * 60_000;

export function ImportsSection({ lawn, imports }: { lawn: Lawn; imports: Imports }) {
  return (
    <section className="sheet" id="files">
      <div className="row row-end">
        <h2>Files of weather hours</h2>
        <Link className="button button-main" href="/weather/import">
          Import a logger’s file
        </Link>
      </div>
      {imports.length === 0 ? (
        <p className="soft">
          None yet. Any station logger’s CSV will do: you choose which column is what, see it before anything is kept,
          and can undo it after.
        </p>
      ) : (
        <ul style={{ listStyle: 'none', padding: 0, margin: 0, display: 'grid', gap: '0.75rem' }}>
          {imports.map((entry) => (
            <li key={entry.id} className="sheet" style={{ marginBottom: 0 }}>
              <p>
                <strong style={{ overflowWrap: 'anywhere' }}>{entry.fileName}</strong>
                <br />
                <span className="soft">
                  {entry.firstHour &&
                    entry.lastHour &&
                    `${dayText(entry.firstHour, lawn)} to ${dayText(entry.lastHour, lawn)}, `}
                  {entry.brokenOff || entry.state === 'writing'
                    ? ''
                    : `${entry.hours.toLocaleString('en-US')} hours from ${entry.rowsRead.toLocaleString('en-US')} rows`}
                  {entry.badRows > 0 && `, ${entry.badRows.toLocaleString('en-US')} bad rows or cells left out`}
                  {entry.duplicateRows > 0 && `, ${entry.duplicateRows.toLocaleString('en-US')} duplicates merged`}.
                  Imported {momentText(entry.createdAt, lawn)}.
                </span>
              </p>
              {entry.brokenOff && (
                <p className="notice notice-bad">
                  This import broke off before it was whole. Remove it and import the file again: it still waits under
                  Import.
                </p>
              )}
              {entry.state === 'writing' && !entry.brokenOff ? (
                <p className="notice">Still being written …</p>
              ) : (
                <ActionForm
                  action={undoImport.bind(null, lawn.id, entry.id)}
                  submit="Undo this import"
                  busy="Removing its hours …"
                >
                  <span className="visually-hidden">{entry.fileName}</span>
                </ActionForm>
              )}
            </li>
          ))}
        </ul>
      )}
      <p className="soft">
        Where files overlap, the later one’s figures stand in front; undoing it brings the earlier ones back.{' '}
        <a href={`/api/weather/export?lawn=${lawn.id}`}>All hours as CSV</a>
      </p>
    </section>
  );
}

/** The weather service: its state, the button, its settings. */
export function ServiceSection({
  lawn,
  settings,
  fetchedAtUtcMs,
  outcome,
  serviceHours,
  now,
}: {
  lawn: Lawn;
  settings: ServiceSettings | null;
  fetchedAtUtcMs: number | null;
  outcome: ServiceOutcome | null;
  serviceHours: number;
  now: Date;
}) {
  const on = settings?.enabled === true;
  const lastTriedMs = Math.max(fetchedAtUtcMs ?? 0, outcome?.atUtcMs ?? 0);
  const entryOf = (field: (typeof COLUMN_FIELDS)[number]) =>
    settings?.fields.find((entry) => entry.field === field) ?? (settings ? undefined : USUAL_NAMES[field]);
  return (
    <section className="sheet" id="service">
      <h2>Weather service</h2>
      {on ? (
        <>
          <p>
            {settings.name}:{' '}
            {fetchedAtUtcMs === null
              ? 'no answer yet.'
              : `the answer shown is of ${momentText(new Date(fetchedAtUtcMs), lawn)}, ${ageText(fetchedAtUtcMs, now)} old.`}
          </p>
          <AskService lawnId={lawn.id} stale={now.getTime() - lastTriedMs > staleMs} last={outcome} />
        </>
      ) : (
        <p>
          Off. Nothing is asked of anyone until you give the address of a service and turn it on. It is told the lawn’s
          place to two decimals, about a kilometre, and nothing else.
        </p>
      )}
      {serviceHours > 0 && (
        <ActionForm
          action={dropServiceHours.bind(null, lawn.id)}
          submit={`Remove the service’s ${serviceHours.toLocaleString('en-US')} hours`}
          busy="Removing …"
        >
          <p className="soft">Hours of the service stand behind those of files, and fill what these lack.</p>
        </ActionForm>
      )}
      <details open={!on && settings !== null}>
        <summary>Settings of the service</summary>
        <ActionForm action={saveService} submit="Save the service" draftKey="weather-service">
          <Tick name="enabled" label="Ask this service for weather hours" defaultChecked={on} />
          <div className="fields">
            <Field
              name="name"
              label="Name"
              defaultValue={settings?.name ?? 'Weather service'}
              hint="Your own word for it."
            />
            <Field
              name="timeout"
              label="Longest wait, s"
              numeric
              defaultValue={settings?.timeoutS ?? 8}
              hint="For one try; three tries are made."
            />
            <Field
              name="zone"
              label="Time zone of its times"
              defaultValue={settings?.timeZone ?? 'UTC'}
              hint="For times without an offset."
            />
            <Field
              name="windHeight"
              label="Height of its wind, metres"
              numeric
              defaultValue={settings?.windHeightM ?? SERVICE_WIND_HEIGHT_M}
            />
          </div>
          <Field
            name="address"
            label="Address"
            defaultValue={settings?.addressTemplate}
            placeholder="https://…?lat={latitude}&lon={longitude}"
            hint="A web address that answers with the weather by the hour as JSON. Write {latitude} and {longitude} where the place goes (it is told to a kilometre); {from} and {to} where it wants dates; {fields} where it wants to be told which figures, by the names below."
          />
          <MatchAnswer
            look={lookAtService.bind(null, lawn.id)}
            fields={COLUMN_FIELDS.map((field) => ({
              field,
              name: fieldNames[field],
              units: COLUMN_KINDS[field].units.map((unit) => ({ value: unit, label: unitName(unit) })),
            }))}
          />
          <fieldset>
            <legend>Names in its answer</legend>
            <p className="soft">
              Filled by a look at an answer, or typed: what the service calls each figure, empty where it has none.
              Units that the answer itself states win. To begin with, the standard names of the atmospheric sciences
              stand here.
            </p>
            <div className="fields">
              {COLUMN_FIELDS.map((field) => {
                const entry = entryOf(field);
                return (
                  <div key={field} className="row" style={{ alignItems: 'end', flexWrap: 'nowrap' }}>
                    <div style={{ flex: 1, minWidth: 0 }}>
                      <Field name={`fields.${field}.name`} label={fieldNames[field]} defaultValue={entry?.name} />
                    </div>
                    <div data-as-typed="" style={{ width: '6.5rem', flex: 'none' }}>
                      <Choose
                        name={`fields.${field}.unit`}
                        label="Unit"
                        defaultValue={entry?.unit ?? null}
                        choices={COLUMN_KINDS[field].units.map((unit) => ({ value: unit, label: unitName(unit) }))}
                      />
                    </div>
                  </div>
                );
              })}
            </div>
          </fieldset>
        </ActionForm>
      </details>
    </section>
  );
}

function ageText(fetchedAtUtcMs: number, now: Date): string {
  const minutes = Math.max(0, Math.round((now.getTime() - fetchedAtUtcMs) / 60_000));
  return minutes < 90 ? `${minutes} min` : spanText(new Date(fetchedAtUtcMs), now);
}

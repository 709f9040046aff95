import { pointsOf } from '@/lib/photo/raster/points';
import type { Metadata } from 'next';
import Link from 'next/link';
import { notFound } from 'next/navigation';
import { Fragment } from 'react';
import { AnswerView } from '@/app/_ui/answer';
import { ActionForm } from '@/app/_ui/action-form';
import { BeingWorkedOut } from '@/app/_ui/being-worked-out';
import { How } from '@/app/_ui/how';
import { dayText, momentText, spanText } from '@/lib/units/dates';
import { Field, TextArea } from '@/app/_ui/field';
import { LookAgain } from '@/app/_ui/look-again';
import { markKindWords } from '@/app/_ui/mark-words';
import { findLawn } from '@/lib/diary/lawns';
import { listOutlines } from '@/lib/diary/outlines';
import { findPhoto, neighbours, type Photo } from '@/lib/diary/photos';
import { listPlots } from '@/lib/diary/plots';
import { greennessRange } from '@/lib/colour/greenness-range';
import { readingsOfPhoto } from '@/lib/diary/readings';
import { listViewpoints } from '@/lib/diary/viewpoints';
import { boardIds } from '@/lib/forms/photo-form';
import { isDoubt } from '@/lib/photo/cautions';
import type { Point } from '@/lib/photo/raster/pixels';
import { significant } from '@/lib/units/display';
import { answerOfPhoto } from '@/lib/work/diary/answers';
import { askLandmarks } from '@/lib/work/photos/ask-landmarks';
import { changesIn } from '@/lib/work/photos/changes';
import { differencesToCheck } from '@/lib/work/photos/differences';
import { figuresWithoutMarks, type FiguresWithoutMarks } from '@/lib/work/photos/without-marks';
import { localOfInstant } from '@/lib/work/diary/lawn-time';
import { firstSeen } from '@/lib/work/photos/marks';
import { cautionsOf, sunOver } from '@/lib/work/photos/photo-cautions';
import { spraysBefore } from '@/lib/work/photos/photo-links';
import { plotsToOutline } from '@/lib/work/photos/plots-to-outline';
import { namedLandmarks } from '@/lib/work/photos/show-landmarks';
import { isUpToDate } from '@/lib/work/photos/stand-of';
import { Asking } from '../_outline/asking';
import { NameLandmarks } from '../_outline/name-landmarks';
import { OutlineEditor } from '../_outline/outline-editor';
import { addLandmark, forgetLandmark, removePhoto, saveOutlines, savePhotoFacts } from './actions';
import { MarksList } from './marks-list';
import { MapLegend } from './map-legend';
import { ReadingsTable } from './readings-table';
import { askPage, Rights } from '@/app/_ui/rights';
import { By } from '@/app/_ui/by';

export const metadata: Metadata = { title: 'A photo' };

const boardChoices = [
  { id: boardIds.greyCard, name: 'Grey card', isCheck: false },
  { id: boardIds.chart, name: 'Colour chart', isCheck: false },
];

function boardOutlines(photo: Photo): { plotId: string; corners: Point[]; accepted: boolean }[] {
  return (
    [
      [boardIds.greyCard, photo.greyCard],
      [boardIds.chart, photo.chart],
    ] as const
  ).flatMap(([plotId, corners]) =>
    Array.isArray(corners) && corners.length === 4 ? [{ plotId, corners: pointsOf(corners), accepted: true }] : [],
  );
}

const bases: Record<Photo['takenAtBasis'], string> = {
  'exif-offset': 'the camera’s clock and its own time zone',
  'gps-utc': 'the camera’s clock, its zone settled by satellite time',
  'lawn-time-zone': 'the camera’s clock, which wrote no zone: read in the lawn’s',
  'phone-clock': 'the phone’s clock when the shutter was pressed on the capture page',
  typed: 'typed by hand',
  upload: 'the file’s own date: the photo tells none',
};

/** The step that a photo's reading is at: each is noted when it is done, whoever does it. */
function stepOf(holds: Readonly<Record<'outlines' | 'readings' | 'comparison', boolean>> | undefined): string {
  if (holds === undefined || !holds.outlines) return 'Step 1 of 3: looking for the plots.';
  return holds.readings ? 'Step 3 of 3: comparing with the baseline photo.' : 'Step 2 of 3: measuring the plots.';
}

export default async function PhotoPage({ params }: { params: Promise<{ id: string }> }) {
  await askPage('looks', { photo: (await params).id });
  const photo = await findPhoto((await params).id);
  const lawn = photo ? await findLawn(photo.lawnId) : null;
  if (!photo || !lawn) notFound();
  const known = await changesIn(lawn.id, [photo.id]);
  const { changes, stands, marks } = known;
  const stand = stands.get(photo.id);
  const upToDate = stand !== undefined && isUpToDate(stand);
  const [plots, outlines, allReadings, viewpoints, beside, cautions] = await Promise.all([
    listPlots(lawn.id),
    listOutlines(photo.id),
    readingsOfPhoto(photo.id),
    listViewpoints(lawn.id),
    photo.viewpointId ? neighbours(photo.viewpointId, photo.takenAt) : { earlier: null, later: null },
    cautionsOf(lawn, [photo.id], stands),
  ]);
  // What was worked out is shown only as long as it rests on what is in the diary now.
  const mapRange = greennessRange(allReadings.flatMap(({ dgci }) => dgci ?? []));
  const readings = upToDate ? allReadings : [];
  const sprays = await spraysBefore({
    lawnId: lawn.id,
    takenAt: photo.takenAt,
    plotIds: outlines.filter((outline) => outline.accepted).map((outline) => outline.plotId),
  });
  const choices = await plotsToOutline(
    photo,
    outlines.map((outline) => outline.plotId),
    sprays.flatMap((spray) => spray.plots.map((covered) => covered.plotId)),
  );
  const alone = new Set(stand?.pairing.alone.map((outline) => outline.plotId));
  const since = await firstSeen(marks);
  const answer = await answerOfPhoto(
    lawn,
    photo,
    outlines.filter((outline) => outline.accepted).map((outline) => outline.plotId),
    known,
    marks,
  );
  const check = outlines.find((outline) => outline.isCheck && outline.accepted);
  const differences = check && upToDate ? await differencesToCheck(photo.id, check.plotId) : new Map();
  const standing = marks.filter((mark) => mark.state !== 'dismissed');
  const withoutMarks = upToDate
    ? await figuresWithoutMarks(photo, outlines, standing, check?.plotId ?? null)
    : new Map<string, FiguresWithoutMarks>();
  const sun = sunOver(lawn, photo.takenAt);
  const unaccepted = outlines.filter((outline) => !outline.accepted);
  const viewpoint = viewpoints.find((entry) => entry.id === photo.viewpointId);
  const start = [
    ...outlines.map(({ plotId, corners, accepted }) => ({ plotId, corners, accepted })),
    ...boardOutlines(photo),
  ];
  const step = stepOf(stand?.holds);
  const asks =
    stand?.holds.outlines !== false &&
    photo.measureState !== 'waiting' &&
    (unaccepted.length > 0 || outlines.length === 0);
  const asking = asks ? await askLandmarks(photo, outlines) : null;
  const landmarks = photo.viewpointId ? await namedLandmarks(photo.viewpointId, photo.id) : [];
  const stage = {
    photoId: photo.id,
    widthPx: photo.widthPx,
    heightPx: photo.heightPx,
    alt: `Lawn photo of ${momentText(photo.takenAt, lawn)}`,
  };
  const save = saveOutlines.bind(null, photo.id);
  const editor = (
    <OutlineEditor
      {...stage}
      {...choices}
      save={save}
      boards={boardChoices}
      start={start}
      marks={marks
        .filter((mark) => mark.state !== 'dismissed')
        .map((mark) => ({ id: mark.id, label: markKindWords[mark.kind], polygon: mark.polygon }))}
      mapRange={mapRange}
    />
  );
  const facts = [
    [photo.cameraMake, photo.cameraModel].filter(Boolean).join(' '),
    photo.exposureS !== null &&
      (photo.exposureS < 1 ? `1/${Math.round(1 / photo.exposureS)} s` : `${significant(photo.exposureS)} s`),
    photo.fNumber !== null && `f/${significant(photo.fNumber)}`,
    photo.iso !== null && `ISO ${significant(photo.iso, 5)}`,
    `${photo.widthPx} × ${photo.heightPx} px`,
    photo.cameraPitchDeg !== null &&
      `looking ${Math.abs(photo.cameraPitchDeg).toFixed(0)}° ${photo.cameraPitchDeg < 0 ? 'down' : 'up'}`,
    sun !== null && `sun ${sun.elevationDeg.toFixed(0)}° high`,
  ].filter(Boolean);
  return (
    <>
      <Rights lawnId={lawn.id} />
      <div className="row row-end">
        <h1>{momentText(photo.takenAt, lawn)}</h1>
        <div className="row">
          {beside.earlier && (
            <Link className="button" href={`/photos/${beside.earlier}`}>
              ← Earlier
            </Link>
          )}
          {beside.later && (
            <Link className="button" href={`/photos/${beside.later}`}>
              Later →
            </Link>
          )}
          {beside.earlier && (
            <Link className="button" href={`/compare?viewpoint=${photo.viewpointId}&after=${photo.id}`}>
              Before and after
            </Link>
          )}
        </div>
      </div>
      {answer && (
        <AnswerView
          answer={answer}
          after={
            <>
              {' '}
              <How to="change" />
            </>
          }
        />
      )}
      {sprays.map((spray) => (
        <p key={spray.id}>
          {spanText(spray.startedAt, photo.takenAt)} after{' '}
          <Link href={`/sprays/${spray.id}`}>
            the spray of {momentText(spray.startedAt, lawn)} on{' '}
            {spray.plots.map((covered) => covered.plot.name).join(', ')}
          </Link>
          .
        </p>
      ))}
      {photo.measureState === 'waiting' && (
        <LookAgain>{`Being read. ${step} This page looks again by itself.`}</LookAgain>
      )}
      {photo.measureState !== 'waiting' && (
        <BeingWorkedOut lawnId={lawn.id} photos={upToDate ? 0 : 1} one={{ photoId: photo.id, step }} />
      )}
      {photo.measureState === 'failed' && <p className="notice notice-bad">{photo.measureMessage}</p>}
      {unaccepted.length > 0 && (
        <p className="notice">
          This photo could not be lined up surely with the earlier ones, so the dashed outlines are a guess, and nothing
          is measured yet.{' '}
          {asking
            ? 'Find up to four things from the earlier photo, and they follow.'
            : 'Drag them where they belong, and save.'}
        </p>
      )}
      <div className="split">
        <section className="sheet">
          {plots.length === 0 ? (
            <p>
              This lawn has no plots yet. <Link href="/lawn#plots">Mark out plots</Link>, then outline them here.
            </p>
          ) : (
            <Fragment key={`${photo.id}-${photo.measureState === 'waiting' ? 'waiting' : 'read'}`}>
              {asking ? (
                <Asking
                  {...stage}
                  save={save}
                  things={asking.things.map(({ from: { takenAt, ...from }, ...thing }) => ({
                    ...thing,
                    from: { ...from, day: dayText(takenAt, lawn) },
                  }))}
                  plots={asking.plots}
                  kept={start
                    .filter(
                      (outline) => outline.accepted && !asking.plots.some((plot) => plot.plotId === outline.plotId),
                    )
                    .map(({ plotId, corners }) => ({ plotId, corners }))}
                  doubt={asking.doubt}
                  names={plots.map(({ id, name }) => ({ id, name }))}
                  byHand={editor}
                />
              ) : (
                editor
              )}
            </Fragment>
          )}
          <MapLegend range={mapRange} />
        </section>
        <section className="sheet">
          <h2>Readings</h2>
          <ReadingsTable
            outlines={outlines}
            readings={readings}
            differences={differences}
            changes={changes}
            marked={new Set(standing.map((mark) => mark.plotId))}
            withoutMarks={withoutMarks}
            reader={lawn}
            pending={!upToDate}
          />
          {(cautions.get(photo.id) ?? []).map((caution) => (
            <p key={caution.sentence} className={isDoubt(caution.code) ? 'notice' : 'soft'}>
              {caution.sentence}
            </p>
          ))}
          {readings.length > 0 && !check && (
            <p className="notice">
              No check is outlined in this photo, so light and treatment can’t be told apart. Outline the unsprayed plot
              as well.
            </p>
          )}
          {upToDate && outlines.some((outline) => outline.accepted) && (
            <>
              <h2>Marks</h2>
              <p className="soft">
                Colour that changed otherwise than the rest of its plot. <How to="marks" />
              </p>
              <MarksList marks={marks} alone={alone} system={lawn.unitSystem} reader={lawn} since={since} />
            </>
          )}
          <p className="soft">
            An index alone must not be compared between photos, cameras or days: light shifts it by 0.04–0.07. The
            difference to the check in the same photo can. <How to="cautions" />
          </p>
        </section>
      </div>
      {photo.viewpointId && outlines.some((outline) => outline.accepted) && (
        <details className="sheet for-works">
          <summary>
            Things to line up by
            {landmarks.length > 0 ? `: ${landmarks.map((landmark) => landmark.name).join(', ')}` : ''}
          </summary>
          <NameLandmarks
            {...stage}
            landmarks={landmarks}
            add={addLandmark.bind(null, photo.id)}
            remove={forgetLandmark.bind(null, photo.id)}
          />
        </details>
      )}
      <details className="sheet">
        <summary>When, where and how it was taken</summary>
        <p className="soft">
          {facts.join(' · ')}. Time from {bases[photo.takenAtBasis]}. File {photo.fileName},{' '}
          {(photo.bytes / 1e6).toFixed(1)} MB, kept untouched: <a href={`/api/photos/${photo.id}`}>the original</a>.{' '}
          <By words="Added by" id={photo.byPersonId} />
        </p>
        <ActionForm action={savePhotoFacts.bind(null, photo.id)} submit="Save">
          <div className="fields">
            <Field
              name="viewpoint"
              label="Viewpoint"
              defaultValue={viewpoint?.name}
              list={viewpoints.map((entry) => entry.name)}
            />
            <Field
              name="takenLocal"
              label="Taken"
              type="datetime-local"
              defaultValue={localOfInstant(photo.takenAt, lawn.timeZone)}
              hint={`Local time, ${lawn.timeZone}`}
            />
          </div>
          <TextArea name="note" label="Note" defaultValue={photo.note} />
        </ActionForm>
        <form action={removePhoto} style={{ marginTop: '1rem' }}>
          <input type="hidden" name="id" value={photo.id} />
          <button type="submit" className="button-warn">
            Move to the bin
          </button>
        </form>
      </details>
    </>
  );
}

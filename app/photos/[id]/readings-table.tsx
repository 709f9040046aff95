import { How, HowEach } from '@/app/_ui/how';
import { intervalText, saysCheck, signed } from '@/app/_ui/change-text';
import { dayText, type Reader } from '@/lib/units/dates';
import { TableHold } from '@/app/_ui/table-hold';
import type { Outline } from '@/lib/diary/outlines';
import type { Reading } from '@/lib/diary/readings';
import type { PlotChange } from '@/lib/work/photos/changes';
import type { PlotDifference } from '@/lib/work/photos/differences';
import type { FiguresWithoutMarks } from '@/lib/work/photos/without-marks';

const shown = (value: number | null, digits = 3) => (value === null ? '–' : value.toFixed(digits));

function Interval({ low, high, show }: { low: number | null; high: number | null; show: (value: number) => string }) {
  if (low === null || high === null) return <span className="soft">(too small for an interval)</span>;
  return (
    <span className="soft">
      ({show(low)} to {show(high)})
    </span>
  );
}

/** A plot without an index although it shows turf, or shows nothing, leaves the photo. */
const leavesPhoto = ({ dgci, pixels, turfPixels }: Reading) => dgci === null && (turfPixels > 0 || pixels === 0);

/**
 * How a plot changed since its baseline, less the check: the same number as on every other page; the other way of
 * counting on demand.
 */
function Change({ change, reader }: { change: PlotChange; reader: Reader }) {
  if (change.isBaseline)
    return <div className="soft">Baseline: the changes of later photos from here are counted from this one.</div>;
  const { headline, otherWay, marksLeftOut, counted } = change;
  return (
    <>
      <div className="row row-end">
        <span>
          Change since {dayText(change.baselineAt, reader)}, less the change of {change.checkName} <How to="change" />
        </span>
        <span className="number reading-value">
          {headline ? (
            <>
              {signed(headline.value)} <span className="soft">({intervalText(headline)})</span>
            </>
          ) : (
            '–'
          )}
        </span>
      </div>
      {change.refused && <div className="notice">{change.refused}</div>}
      {otherWay && (
        <details>
          <summary>
            {marksLeftOut > 0
              ? `${marksLeftOut === 1 ? 'One marked patch' : `${marksLeftOut} marked patches`} here or on the check left out`
              : counted === 'all-ground'
                ? 'Dismissed marks counted'
                : 'All ground'}
          </summary>
          <p>
            {marksLeftOut === 1 ? 'With it counted' : marksLeftOut > 0 ? 'With them counted' : 'With them left out'}:{' '}
            <span className="number">
              {signed(otherWay.value)} ({intervalText(otherWay)})
            </span>
            . Haze or scorch shifts the index without greening; that is why the number above leaves it out.
          </p>
        </details>
      )}
    </>
  );
}

/** What a plot's difference and index come to by the ground that no marked patch touches. */
function WithoutMarks({ figures, compared }: { figures: FiguresWithoutMarks; compared: boolean }) {
  const { difference, index } = figures;
  const parts = [
    ...(difference ? [{ name: 'difference', figure: difference, show: signed }] : []),
    ...(index ? [{ name: 'index', figure: index, show: (value: number) => value.toFixed(3) }] : []),
  ];
  if (parts.length === 0 || (compared && !difference))
    return <> They touch all blocks of turf, here or on the check, so there is no figure without them.</>;
  return (
    <>
      {' '}
      Without the blocks of ground they touch:{' '}
      {parts.map(({ name, figure, show }, place) => (
        <span key={name}>
          {place > 0 && ', '}
          {name} <span className="number">{show(figure.value)}</span>{' '}
          <Interval low={figure.low95} high={figure.high95} show={show} />
        </span>
      ))}
      . <How to="interval" />
    </>
  );
}

/**
 * What each plot measured: its change since the baseline, its difference to the check in this photo, its index; with
 * 95% intervals.
 */
export function ReadingsTable({
  outlines,
  readings,
  differences,
  changes,
  marked,
  withoutMarks,
  reader,
  pending,
}: {
  outlines: Outline[];
  readings: Reading[];
  differences: Map<string, PlotDifference>;
  changes: readonly PlotChange[];
  /** Plots with a mark that nobody dismissed: its ground counts in what one photo tells by itself. */
  marked: ReadonlySet<string>;
  /** The same without that ground, of plots whose figures rest on some. */
  withoutMarks: ReadonlyMap<string, FiguresWithoutMarks>;
  reader: Reader;
  pending: boolean;
}) {
  if (pending) return <p className="soft">Being worked out.</p>;
  if (readings.length === 0)
    return <p className="soft">Outline a plot in the photo and save: its colour appears here.</p>;
  const checkIsMarked = outlines.some((outline) => outline.isCheck && marked.has(outline.plotId));
  const byPlot = new Map(readings.map((reading) => [reading.plotId, reading]));
  return (
    <>
      {outlines.map((outline) => {
        const reading = byPlot.get(outline.plotId);
        if (!reading) return null;
        const difference = differences.get(outline.plotId);
        const change = changes.find((one) => one.plotId === outline.plotId);
        const without = withoutMarks.get(outline.plotId);
        const countsMarks = marked.has(outline.plotId) || (difference !== undefined && checkIsMarked);
        return (
          <div key={outline.plotId} className="reading">
            <div className="row row-end">
              <strong>{outline.plotName}</strong>
              {outline.isCheck && !saysCheck(outline.plotName) && <span className="chip">check</span>}
            </div>
            {change && <Change change={change} reader={reader} />}
            {difference && (
              <div className="row row-end">
                <span>
                  Difference to the check in this photo <How to="change" />
                </span>
                <span className="number">
                  {signed(difference.difference)}{' '}
                  <Interval low={difference.low95} high={difference.high95} show={signed} />
                </span>
              </div>
            )}
            <div className="row row-end">
              <span>
                Dark green index <How to="dgci" />
              </span>
              <span className="number">
                {reading.dgci === null ? (leavesPhoto(reading) ? 'not measured' : 'no turf') : reading.dgci.toFixed(3)}{' '}
                {reading.dgci !== null && (
                  <Interval low={reading.dgciLow95} high={reading.dgciHigh95} show={(value) => value.toFixed(3)} />
                )}
              </span>
            </div>
            {countsMarks && (
              <div className="soft">
                {difference ? 'The difference and the index count' : 'The index counts'} marked patches too
                {change && change.marksLeftOut > 0 ? '; the change leaves them out' : ''}.
                {without && reading.dgci !== null && (
                  <WithoutMarks figures={without} compared={difference !== undefined} />
                )}
              </div>
            )}
            <div className="soft">
              {leavesPhoto(reading)
                ? 'The plot leaves the photo, so it is not measured'
                : `${(reading.turfShare * 100).toFixed(0)} % of the outline is turf`}
              {reading.extrapolated && '; outside the range the index was made for'}
            </div>
          </div>
        );
      })}
      <details>
        <summary>All numbers and the method</summary>
        <TableHold label="All numbers of this photo">
          <table>
            <thead>
              <tr>
                <th>Plot</th>
                <th className="number">Hue °</th>
                <th className="number">Saturation</th>
                <th className="number">Brightness</th>
                <th className="number">L* a* b*</th>
                <th className="number">NGRDI</th>
                <th className="number">GLI</th>
                <th className="number">ExG</th>
                <th className="number">VARI</th>
                <th className="number">SD of pixels</th>
              </tr>
            </thead>
            <tbody>
              {outlines.map((outline) => {
                const reading = byPlot.get(outline.plotId);
                if (!reading) return null;
                return (
                  <tr key={outline.plotId}>
                    <td>{outline.plotName}</td>
                    <td className="number">{shown(reading.hueDeg, 1)}</td>
                    <td className="number">{shown(reading.saturation)}</td>
                    <td className="number">{shown(reading.brightness)}</td>
                    <td className="number">
                      {shown(reading.labL, 1)} {shown(reading.labA, 1)} {shown(reading.labB, 1)}
                    </td>
                    <td className="number">{shown(reading.ngrdi)}</td>
                    <td className="number">{shown(reading.gli)}</td>
                    <td className="number">{shown(reading.exg)}</td>
                    <td className="number">{shown(reading.vari)}</td>
                    <td className="number">{shown(reading.dgciPixelSd)}</td>
                  </tr>
                );
              })}
            </tbody>
          </table>
        </TableHold>
        <p className="soft">
          Dark green colour index = [(H − 60)/60 + (1 − S) + (1 − B)] / 3 of the mean hue, saturation and brightness of
          turf pixels, after Karcher and Richardson 2003, Crop Science 43:943–951. Method {readings[0]?.methodVersion}.{' '}
          <HowEach to={['mask', 'interval', 'indices']} />
        </p>
      </details>
    </>
  );
}

import type { Metadata } from 'next';
import Link from 'next/link';
import { BeingWorkedOut } from '@/app/_ui/being-worked-out';
import { How } from '@/app/_ui/how';
import { currentLawn } from '@/app/_ui/current-lawn';
import { dayText, type Reader } from '@/lib/units/dates';
import { ScatterChart, type ScatterGroup } from '@/app/_ui/charts/scatter-chart';
import { TableHold } from '@/app/_ui/table-hold';
import { readResponseQuery } from '@/lib/forms/queries/response-query';
import { significant } from '@/lib/units/display';
import { answerFor, type FactorAnswer } from '@/lib/work/response/answer-for-factor';
import { responseFactors, type FactorRow } from '@/lib/work/response/response-factors';
import { type Factor } from '@/lib/work/response/factors';

export const metadata: Metadata = { title: 'Response against rates and weather' };

const MOST_GROUPS = 7;
const signed = (value: number, digits = 3) => `${value < 0 ? '−' : '+'}${Math.abs(value).toFixed(digits)}`;

export default async function AgainstPage({
  searchParams,
}: {
  searchParams: Promise<Record<string, string | string[] | undefined>>;
}) {
  const lawn = await currentLawn();
  const query = readResponseQuery(await searchParams);
  const all = lawn ? await responseFactors(lawn.id, [query.days]) : null;
  if (!lawn || !all || all.plots.length === 0) {
    return (
      <div className="teach">
        <h1>Response against rates and weather</h1>
        {lawn && all && <BeingWorkedOut lawnId={lawn.id} photos={all.pending} />}
        <p>
          Every spray with a photo before it and one about 3, 7 or 14 days after, both with the check outlined, becomes
          a point here. <Link href="/response">Back to the response by date</Link>.
        </p>
      </div>
    );
  }
  const x =
    all.factors.find((factor) => factor.key === query.x) ??
    (all.factors.find((factor) => factor.key === 'Fe') as Factor);
  const colourFactor = all.factors.find((factor) => factor.key === query.colour) ?? null;
  const keep = (row: FactorRow) =>
    row.horizon === query.days &&
    (!query.plot || row.plot === query.plot) &&
    (!query.product || row.products.includes(query.product)) &&
    (query.alone !== 'yes' || row.alsoSprayed.length === 0);
  const answer = answerFor(all, x, colourFactor, keep);
  return (
    <>
      <div className="row row-end">
        <h1>Response against rates and weather</h1>
        <Link className="button" href="/response">
          By date
        </Link>
      </div>
      <BeingWorkedOut lawnId={lawn.id} photos={all.pending} />
      <section className="sheet">
        <form className="fields" action="/response/against" key={JSON.stringify(query)}>
          <Pick name="x" label="Along" value={x.key} choices={all.factors.map((factor) => [factor.key, factor.name])} />
          <Pick
            name="days"
            label="Days after the spray"
            value={String(query.days)}
            choices={[
              ['3', 'about 3 (2–4)'],
              ['7', 'about 7 (5–9)'],
              ['14', 'about 14 (11–17)'],
            ]}
          />
          <Pick
            name="colour"
            label="Colour by"
            value={query.colour ?? ''}
            choices={[['', 'plot'], ...all.factors.map((factor): [string, string] => [factor.key, factor.name])]}
          />
          <Pick
            name="plot"
            label="Plot"
            value={query.plot ?? ''}
            choices={[['', 'all'], ...all.plots.map((plot): [string, string] => [plot.id, plot.name])]}
          />
          <Pick
            name="product"
            label="Sprays with"
            value={query.product ?? ''}
            choices={[
              ['', 'any product'],
              ...all.products.map((product): [string, string] => [product.id, product.name]),
            ]}
          />
          <Pick
            name="alone"
            label="Sprayed again before the photo"
            value={query.alone ?? ''}
            choices={[
              ['', 'show as well, hollow'],
              ['yes', 'leave out'],
            ]}
          />
          <div className="field">
            <span className="label">&nbsp;</span>
            <button type="submit">Show</button>
          </div>
        </form>
      </section>
      <section className="sheet">
        <h2>
          Colour change at day {query.days} against {x.name}
        </h2>
        {answer.shown.length === 0 ? (
          <p className="notice">No spray has both a photo at that time and a value for {x.name}.</p>
        ) : (
          <ScatterChart
            groups={groupsOf(answer.shown, x, colourFactor, lawn)}
            fit={fitOf(answer, x, colourFactor)}
            xLabel={x.name}
            yLabel="change of index against the check"
            label={`Colour change at day ${query.days} against ${x.name}, ${answer.shown.length} points`}
          />
        )}
        {answer.shown.length > 0 && <Sentences answer={answer} x={x} second={colourFactor} />}
        {all.sprayLimit !== null && <p className="soft">Only the latest {all.sprayLimit} sprays are looked at.</p>}
      </section>
      <section className="sheet">
        <h2>What moves with what</h2>
        <p className="soft">
          Read at some days after each spray; a diary shows what went together, not what caused what.{' '}
          <How to="response" />
        </p>
        <ul>
          {answer.confounding.sentences.map((sentence) => (
            <li key={sentence}>{sentence}</li>
          ))}
        </ul>
      </section>
      <section className="sheet">
        <h2>The points</h2>
        <TableHold label="The points of the chart">
          <table>
            <thead>
              <tr>
                <th>Spray</th>
                <th>Plot</th>
                <th className="number">Days after</th>
                <th className="number">{x.name}</th>
                <th className="number">Change</th>
                <th>Photo</th>
                <th>Note</th>
              </tr>
            </thead>
            <tbody>
              {answer.shown.map((row) => (
                <tr key={`${row.spray} ${row.plot}`}>
                  <td>
                    <Link href={`/sprays/${row.spray}`}>{dayText(row.sprayAt, lawn)}</Link>
                  </td>
                  <td>{row.plotName}</td>
                  <td className="number">{row.daysAfter}</td>
                  <td className="number">{significant(row.x[x.name] as number)}</td>
                  <td className="number">{signed(row.response)}</td>
                  <td>
                    <Link href={`/photos/${row.photo}`}>open</Link>
                  </td>
                  <td>
                    {row.alsoSprayed.length > 0 && 'sprayed again before the photo'}
                    {answer.influential.some((one) => one.row === row) && ' the line leans on this point'}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </TableHold>
      </section>
    </>
  );
}

function Pick({
  name,
  label,
  value,
  choices,
}: {
  name: string;
  label: string;
  value: string;
  choices: readonly (readonly [string, string])[];
}) {
  return (
    <div className="field">
      <label htmlFor={`pick-${name}`}>{label}</label>
      <select id={`pick-${name}`} name={name} defaultValue={value}>
        {choices.map(([key, text]) => (
          <option key={key} value={key}>
            {text}
          </option>
        ))}
      </select>
    </div>
  );
}

/** Groups by plot, or thirds of the factor picked for colour. */
function groupsOf(rows: readonly FactorRow[], x: Factor, colour: Factor | null, reader: Reader): ScatterGroup[] {
  const values = colour ? rows.map((row) => row.x[colour.name] as number).sort((a, b) => a - b) : [];
  const cuts = colour
    ? [
        ...new Set([
          values[Math.floor(values.length / 3)] as number,
          values[Math.floor((2 * values.length) / 3)] as number,
        ]),
      ]
    : [];
  // More plots than there are shapes and colours: one group, the point's own words say which plot it is.
  const tooMany = new Set(rows.map((row) => row.plot)).size > MOST_GROUPS;
  const nameOf = (row: FactorRow): string => {
    if (!colour) return tooMany ? 'all plots' : row.plotName;
    const own = row.x[colour.name] as number;
    const [low, high] = cuts;
    if (low !== undefined && own < low) return `${colour.name} under ${significant(low)}`;
    if (high !== undefined && own >= high) return `${colour.name} from ${significant(high)}`;
    return `${colour.name} from ${significant(low ?? own)}`;
  };
  const groups = new Map<string, FactorRow[]>();
  for (const row of rows) groups.set(nameOf(row), [...(groups.get(nameOf(row)) ?? []), row]);
  return [...groups.entries()]
    .sort(([a], [b]) => a.localeCompare(b))
    .map(([name, own]) => ({
      name,
      points: own.map((row) => ({
        x: row.x[x.name] as number,
        y: row.response,
        photoId: row.photo,
        doubt: row.alsoSprayed.length > 0,
        text: `${row.plotName}, spray of ${dayText(row.sprayAt, reader)}: ${signed(row.response)}`,
      })),
    }));
}

/** The fitted line along x, the second factor held at its mean. */
function fitOf({ regression, grouped, shown }: FactorAnswer, x: Factor, second: Factor | null) {
  if (!regression.ok || regression.fit.slopes.every((slope) => slope.name !== x.name)) return [];
  const xs = shown.map((row) => row.x[x.name] as number);
  const held = second
    ? { [second.name]: shown.reduce((sum, row) => sum + (row.x[second.name] as number), 0) / shown.length }
    : {};
  const [from, to] = [Math.min(...xs), Math.max(...xs)];
  return Array.from({ length: 21 }, (_, i) => {
    const at = from + ((to - from) * i) / 20;
    if (grouped) return { x: at, ...grouped.predict({ ...held, [x.name]: at }) };
    const { value, meanInterval } = regression.fit.predict({ ...held, [x.name]: at });
    return { x: at, value, low: meanInterval[0], high: meanInterval[1] };
  });
}

function Sentences({ answer, x, second }: { answer: FactorAnswer; x: Factor; second: Factor | null }) {
  const { regression, grouped, groupedSprays, influential } = answer;
  if (!regression.ok) return <p className="notice">No line: {regression.reason}.</p>;
  const { fit } = regression;
  const sprays = new Set(answer.shown.map((row) => row.spray)).size;
  const band = ` Dashed: 95 % band of the mean along ${x.name}.`;
  return (
    <>
      {fit.slopes.map((plain) => {
        const untold = grouped?.untold.find((one) => one.name === plain.name);
        if (untold) {
          return (
            <p key={plain.name} className="notice">
              One unit more of <strong>{plain.name}</strong> went with <strong>{signed(untold.value, 4)}</strong>, which
              nobody can tell from what else differs between {untold.levels} {untold.group}s: each {untold.group} had
              one value of it throughout. No interval is given; more {untold.group}s, or other rates on the same ones,
              would tell.
            </p>
          );
        }
        const slope = { ...plain, ...grouped?.slopes.find((one) => one.name === plain.name) };
        return (
          <p key={slope.name}>
            One unit more of <strong>{slope.name}</strong> went with <strong>{signed(slope.value, 4)}</strong> (95 %
            interval {signed(slope.low, 4)} to {signed(slope.high, 4)}, p{' '}
            {slope.p < 0.0001 ? '< 0.0001' : `= ${slope.p.toFixed(4)}`}
            {second &&
              `, the other held; inflation ${Number.isFinite(slope.vif) ? slope.vif.toFixed(1) : 'without limit'}`}
            ).
          </p>
        );
      })}
      {fit.leftOut.length > 0 && (
        <p className="notice">
          Nothing can be said of {fit.leftOut.join(', ')}: it does not vary, or only together with the other.
        </p>
      )}
      <p className="soft">
        {answer.shown.length} points from {sprays} {sprays === 1 ? 'spray' : 'sprays'}, R² {fit.rSquared.toFixed(2)},
        scatter about the line {fit.residualSd.toFixed(3)}.{' '}
        {grouped
          ? `Plots of one spray and sprays of one plot count as going together: ${grouped.slopes.map((slope) => `${slope.df.toFixed(0)} degrees of freedom`)[0] ?? 'too few of them to tell'}${groupedSprays === null ? '' : `, from the latest ${groupedSprays} sprays`}; scatter between ${grouped.groups.map((group) => `${group.name === 'spray' ? 'sprays' : group.name === 'plot' ? 'plots' : 'plots of a spray'} ${group.sd.toFixed(3)}`).join(', ')}, within ${grouped.residualSd.toFixed(3)}.${grouped.untold.length > 0 ? '' : band}`
          : 'No two points share a spray or a plot, or too few for more than a plain line: each counts by itself.'.concat(
              band,
            )}
      </p>
      {influential.length > 0 && (
        <p className="notice">
          The line leans on {influential.length} {influential.length === 1 ? 'point' : 'points'} (Cook’s distance above
          4/n): {influential.map((one) => `${one.row.plotName}, ${one.cooksDistance.toFixed(2)}`).join('; ')}. Look at
          their photos first.
        </p>
      )}
    </>
  );
}

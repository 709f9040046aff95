'use client';
import { TableHold } from '@/app/_ui/table-hold';
import { designProblems, type TrialDesign } from '@/lib/trial/design';
import { differenceSeen, sightOf, type Sight } from '@/lib/trial/design-power';
import { numberOf } from './designer-state';

/**
 * "With 3 blocks you can see 0.025": what each number of blocks can tell, for a given scatter from plot to plot, judged
 * as the report judges.
 */
export function Power({
  design,
  scatter,
  scatterFrom,
  onScatter,
}: {
  design: TrialDesign;
  scatter: string;
  scatterFrom: string;
  onScatter: (typed: string) => void;
}) {
  const sd = numberOf(scatter);
  const sound = sd > 0 && sd < 1 && designProblems(design).length === 0;
  const sights = sound ? sightOf(design) : [];
  const fixed = design.layout === 'latin-square';
  const rows =
    sound && !fixed
      ? [2, 3, 4, 5, 6, 8, 10, 12].flatMap((blocks) =>
          designProblems({ ...design, blocks }).length > 0 ? [] : [{ blocks, sights: sightOf({ ...design, blocks }) }],
        )
      : [];
  const judged = (sight: Sight) =>
    sight.treatments === 2 ? 't test' : sight.verdict === 'against the check' ? 'Dunnett' : 'Tukey';
  const unit = design.layout === 'completely-randomised' ? 'strips of each treatment' : 'blocks';
  return (
    <div>
      <div className="field" style={{ maxWidth: '22rem' }}>
        <label htmlFor="trial-scatter">Scatter from plot to plot (standard deviation of the index)</label>
        <input
          id="trial-scatter"
          inputMode="decimal"
          value={scatter}
          onChange={(event) => onScatter(event.target.value)}
        />
        <span className="hint">{scatterFrom}</span>
      </div>
      {sights.map((sight) => (
        <p key={sight.of} className="notice notice-good power-line">
          With {design.blocks} {fixed ? 'rows' : unit} you can see a difference of{' '}
          <strong>{differenceSeen(sight, sd).toFixed(3)}</strong>{' '}
          {sight.verdict === 'against the check' ? 'from the check' : 'between two treatments'}
          {sights.length > 1 && ` of ${sight.of}`} (8 times in 10, at the 5 % level, {judged(sight)} with {sight.df}{' '}
          degrees of freedom). {sight.assumed}
        </p>
      ))}
      {sound && sights.length === 0 && (
        <p className="notice">
          {design.blocks < 2
            ? 'One block: no test can be made, whatever the scatter.'
            : 'This leaves nothing to judge the scatter by: no test can be made. Take more blocks.'}
        </p>
      )}
      {rows.length > 0 && (
        <TableHold label="Smallest difference that can be seen">
          <table>
            <caption>Smallest difference seen 8 times in 10, judged as the report will judge</caption>
            <thead>
              <tr>
                <th>{unit === 'blocks' ? 'Blocks' : 'Strips each'}</th>
                {rows.map((row) => (
                  <th key={row.blocks} className="number">
                    {row.blocks}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {sights.map((sight, at) => (
                <tr key={sight.of}>
                  <th>{sights.length > 1 ? `Index, ${sight.of}` : 'Index'}</th>
                  {rows.map((row) => (
                    <td key={row.blocks} className="number">
                      {row.sights[at] ? differenceSeen(row.sights[at], sd).toFixed(3) : '–'}
                    </td>
                  ))}
                </tr>
              ))}
            </tbody>
          </table>
        </TableHold>
      )}
    </div>
  );
}

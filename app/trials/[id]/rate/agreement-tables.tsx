import { TableHold } from '@/app/_ui/table-hold';
import type { RatingAgreement } from '@/lib/work/trials/rating-agreement';

const two = (value: number | null) => (value === null ? 'can’t be told' : value.toFixed(2));

/** Raters against each other, against themselves, and against the index. */
export function AgreementTables({ agreement }: { agreement: RatingAgreement }) {
  return (
    <>
      {agreement.pairs.length === 0 ? (
        <p>Agreement between people needs two who have rated the same strips.</p>
      ) : (
        <TableHold label="Agreement between raters">
          <table>
            <thead>
              <tr>
                <th>Raters</th>
                <th className="number">Strips</th>
                <th className="number">Weighted kappa</th>
                <th className="number">Concordance</th>
                <th className="number">Mean difference</th>
                <th className="number">95 % of differences</th>
              </tr>
            </thead>
            <tbody>
              {agreement.pairs.map((pair) => (
                <tr key={`${pair.a} ${pair.b}`}>
                  <td>
                    {pair.a} and {pair.b}
                  </td>
                  <td className="number">{pair.strips}</td>
                  <td className="number">{two(pair.kappa)}</td>
                  <td className="number">{two(pair.concordance)}</td>
                  <td className="number">{pair.difference.toFixed(2)} points</td>
                  <td className="number">
                    {pair.limits[0].toFixed(1)} to {pair.limits[1].toFixed(1)}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </TableHold>
      )}
      {agreement.repeats.map((one) => (
        <p key={one.rater}>
          {one.rater} saw {one.strips} {one.strips === 1 ? 'strip' : 'strips'} twice and was off by{' '}
          {one.difference.toFixed(1)} points on average.
        </p>
      ))}
      <p>
        {agreement.withIndex.r === null
          ? 'Ratings and index can’t be held together yet: three strips with both are needed.'
          : `Within a day, scores and the dark green colour index go together with r = ${agreement.withIndex.r.toFixed(2)} (${agreement.withIndex.strips} strips).`}
      </p>
      <p className="soft">
        Kappa weights a disagreement by its square (Cohen 1968); concordance asks how closely scores lie on the line of
        equality (Lin 1989). 1 is perfect, 0 no better than chance. On a strip like these two such raters differ within
        the last column’s limits 95 times in 100 (Bland and Altman 1986).
      </p>
    </>
  );
}

import { LINK_DAYS } from '@/lib/explain/causes';
import { heatLimits } from '@/lib/spray/grass-season';
import { DEFAULT_LIMITS } from '@/lib/weather/window-limits';
import { UNREPLICATED_SENTENCE } from '@/lib/trial/analyse';
import { RATING_ACCEPTABLE, RATING_MAX, RATING_MIN } from '@/lib/trial/rating';
import { RESPONSE_HORIZONS } from '@/lib/trial/response-table';
import { Method } from './method';

/** Everything that is worked out over several photos and sprays. */
export function TrialMethods() {
  return (
    <>
      <h2>From trials and the whole diary</h2>
      <Method
        id="trials"
        formulas={[
          'value = mean + block + treatment + error',
          'split plot: value = mean + block + main + main-plot error + sub + main × sub + error',
          'LSD = t(0.975; df) × s.e. of a difference, only after F at 0.05',
        ]}
        parameters={[['Ratings', `${RATING_MIN} to ${RATING_MAX}, ${RATING_ACCEPTABLE} just acceptable`]]}
        sources={[
          'designs, LSD, split plot: Gomez & Gomez 1984',
          'adjusted means: Searle, Speed & Milliken 1980, Am Stat 34:216',
          'Dunnett 1955, JASA 50:1096; Tukey-Kramer: Hayter 1984; letters: Piepho 2004, J Comput Graph Stat 13:456',
          'mixed models: Patterson & Thompson 1971, Biometrika 58:545; degrees of freedom: Kenward & Roger 1997, Biometrics 53:983',
          'ranks by every order: Hollander & Wolfe 1999, 6.1 and 7.1; missing plots: Skillings & Mack 1981, Technometrics 23:171',
          'non-additivity: Tukey 1949, Biometrics 5:232; spread and outliers judged by draws of the layout: Davison & Hinkley 1997, 4.2; pairs: Pitman 1939, Morgan 1939',
          'alike within a margin: Schuirmann 1987; several days: Holm 1979, Westfall & Young 1993; efficiency of blocks: Gomez & Gomez 1984, 2.2.4',
          'agreement of raters: Lin 1989, Biometrics 45:255; Bland & Altman 1986; Cohen 1968',
        ]}
      >
        <p>
          A plot counts once a day, however many pixels lie behind it. Against the check, the model is fitted to the
          plots’ own changes, so that the check’s scatter stays in the error. Means are adjusted for missing plots. Two
          means share a letter exactly when they are not significantly different. Power says how large a difference the
          layout could see, judged as the report judges: by Dunnett against a check, by Tukey without.
        </p>
        <p>
          Complete blocks, Latin squares and plots without blocks go by least squares. Split plots, strip plots and
          incomplete blocks go by a mixed model (restricted likelihood, Kenward-Roger degrees of freedom), which gives
          the classical tests where nothing is missing and a fair one where something is. Days are taken together in one
          model in which a plot’s errors go together, and what looking on several days means is said. Ratings and marks
          are tested by the orders that the draw could have laid: all of them where they can be counted, else 9,999
          drawn with a fixed seed.
        </p>
        <p>{UNREPLICATED_SENTENCE}</p>
      </Method>
      <Method
        id="curve"
        formulas={[
          'area = Σ (days between photos) × (response before + response after) / 2',
          'cost per unit = cost per area / area under the curve',
        ]}
        sources={[
          'area under a progress curve: Campbell & Madden 1990',
          'summary measures: Matthews, Altman, Campbell & Royston 1990, BMJ 300:230',
        ]}
      >
        <p>
          Straight lines between photos: peak, days to the peak, days above the check and area under the curve. Each
          plot’s curve becomes one number, analysed like one day, so that repeated photos of a plot don’t count as
          replicates.
        </p>
      </Method>
      <Method
        id="response"
        parameters={RESPONSE_HORIZONS.map(
          ({ day, toleranceDays }) => [`Read at ${day} days`, `± ${toleranceDays}`] as const,
        )}
        sources={[
          'random sprays and plots: Patterson & Thompson 1971; Kenward & Roger 1997',
          'least squares by QR; variance inflation: Belsley, Kuh & Welsch 1980, 3.2; influence: Cook & Weisberg 1982',
        ]}
      >
        <p>
          The change against the check some days after a spray, against what was sprayed and the weather then. What
          moved together in your diary can’t be told apart, and the page says what did. Plots of one spray, and sprays
          of one plot, count as going together. A diary shows what went together, never what caused what.
        </p>
      </Method>
      <Method
        id="causes"
        parameters={[
          ['A mark is linked to a spray for', `${LINK_DAYS} days`],
          [
            'A film should stay wet for, as in the window finder',
            `${DEFAULT_LIMITS.goodWetMin} min; under ${DEFAULT_LIMITS.leastWetMin} min is too short`,
          ],
          [
            'Heat for cool-season and warm-season grass from',
            `${heatLimits('cool').warmC} and ${heatLimits('warm').warmC} °C`,
          ],
        ]}
        sources={['each piece of evidence names its own; the weighing is our own rule, no source']}
      >
        <p>
          For a mark soon after a spray, the record’s evidence for and against each cause: “likely” needs three points
          more for than against and one strong piece. A mark that the unsprayed check shows too, or that a photo from
          before the spray shows, speaks against the spray whatever else does. Mowing, watering, what was seen on the
          lawn and other products are weighed where they are written down; what the diary has no record of is not
          weighed, and said so. It never says what the cause is: a patch can have a reason nobody wrote down.
        </p>
        <p>
          “Find out” lays such a spray again on small strips with one thing changed at a time and in combination.
          Whether marks come back is tested within each block and within the levels of the other things, exactly; what
          it shows outweighs what was only written down, and its limits are said: one small trial, one ground, one
          weather.
        </p>
      </Method>
    </>
  );
}

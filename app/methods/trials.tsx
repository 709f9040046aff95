import { LINK_DAYS } from '@/lib/trial/causes';
import { heatLimits } from '@/lib/trial/grass-season';
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
        formulas={['value = mean + block + treatment + error', 'LSD = t(0.975; df) × s.e. of a difference, only after F at 0.05']}
        parameters={[['Ratings', `${RATING_MIN} to ${RATING_MAX}, ${RATING_ACCEPTABLE} just acceptable`]]}
        sources={[
          'designs, LSD, split plot: Gomez & Gomez 1984',
          'adjusted means: Searle, Speed & Milliken 1980, Am Stat 34:216',
          'Dunnett 1955, JASA 50:1096; Tukey-Kramer: Hayter 1984; letters: Piepho 2004, J Comput Graph Stat 13:456',
          'ranks: Hollander & Wolfe 1999, 6.1 and 7.1',
          'non-additivity: Tukey 1949, Biometrics 5:232; outliers: Cook & Weisberg 1982, 2.2',
          'agreement of raters: Lin 1989, Biometrics 45:255; Bland & Altman 1986; Cohen 1968',
        ]}
      >
        <p>A plot counts once a day, however many pixels lie behind it. Against the check, the model is fitted to the plots’ own changes, so that the check’s scatter stays in the error. Means are adjusted for missing plots. Two means share a letter exactly when they are not significantly different. Power says how large a difference the layout could see.</p>
        <p>{UNREPLICATED_SENTENCE}</p>
      </Method>
      <Method
        id="curve"
        formulas={['area = Σ (days between photos) × (response before + response after) / 2', 'cost per unit = cost per area / area under the curve']}
        sources={['area under a progress curve: Campbell & Madden 1990', 'summary measures: Matthews, Altman, Campbell & Royston 1990, BMJ 300:230']}
      >
        <p>Straight lines between photos: peak, days to the peak, days above the check and area under the curve. Each plot’s curve becomes one number, analysed like one day, so that repeated photos of a plot don’t count as replicates.</p>
      </Method>
      <Method
        id="response"
        parameters={RESPONSE_HORIZONS.map(({ day, toleranceDays }) => [`Read at ${day} days`, `± ${toleranceDays}`] as const)}
        sources={['least squares by QR; variance inflation: Belsley, Kuh & Welsch 1980, 3.2; influence: Cook & Weisberg 1982']}
      >
        <p>The change against the check some days after a spray, against what was sprayed and the weather then. What moved together in your diary can’t be told apart, and the page says what did. A diary shows what went together, never what caused what.</p>
      </Method>
      <Method
        id="causes"
        parameters={[
          ['A mark is linked to a spray for', `${LINK_DAYS} days`],
          ['A film should stay wet for, as in the window finder', `${DEFAULT_LIMITS.goodWetMin} min; under ${DEFAULT_LIMITS.leastWetMin} min is too short`],
          ['Heat for cool-season and warm-season grass from', `${heatLimits('cool').warmC} and ${heatLimits('warm').warmC} °C`],
        ]} sources={['each piece of evidence names its own; the weighing is our own rule, no source']}
      >
        <p>For a mark soon after a spray, the record’s evidence for and against each cause: “likely” needs three points more for than against and one strong piece. A mark that the unsprayed check shows too, or that a photo from before the spray shows, speaks against the spray whatever else does. Mowing, watering, what was seen on the lawn and other products are weighed where they are written down; what the diary has no record of is not weighed, and said so. It never says what the cause is: a patch can have a reason nobody wrote down.</p>
      </Method>
    </>
  );
}

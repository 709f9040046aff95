import { significant } from '@/lib/units/display';
import { fromC } from '@/lib/units/temperature';
import { SALT_EDITION } from '@/lib/plan/spray-plan';
import {
  FOLIAR_N_BURNED_KG_PER_HA,
  FOLIAR_N_STUDIED_KG_PER_HA,
  HEAT_CAUTION_C,
  HEAT_STOP_IRON_C,
  IRON_BEST_KG_PER_HA,
  IRON_DIEBACK_KG_PER_HA,
  IRON_MOST_USEFUL_KG_PER_HA,
  SALT_CAUTION_G_PER_L,
  SALT_NOTE_G_PER_L,
} from '@/lib/spray/burn-checks';
import { CHELATE_PH, GYPSUM_MMOL_PER_L, HUMIC_PH, IRON_SALT_PH } from '@/lib/spray/mixture-checks';
import { K_IN_K2O, P_IN_P2O5 } from '@/lib/spray/nutrients';
import { SALT_INDEX, SALT_INDEX_EDITIONS, type SaltIndexEdition } from '@/lib/spray/salt-index';
import { DAVIES_LIMIT_MOL_PER_L } from '@/lib/water/activity';
import { OUTDOOR_PCO2_ATM, PKH_CO2, PKW, SYSTEMS } from '@/lib/water/constants';
import { TableHold } from '@/app/_ui/table-hold';
import { Method } from './method';

const degrees = (celsius: number) => `${significant(celsius)} °C (${significant(fromC(celsius, 'degF').value)} °F)`;
const kgPerHa = (value: number) => `${significant(value)} kg/ha`;
const editions = Object.keys(SALT_INDEX_EDITIONS) as SaltIndexEdition[];
const materials = [...new Set(editions.flatMap((edition) => Object.keys(SALT_INDEX[edition])))].sort();

/** Everything that goes into a tank. */
export function SprayMethods() {
  return (
    <>
      <h2>From the shelf and the tank</h2>
      <Method
        id="nutrients"
        formulas={[
          'P = P₂O₅ × 2·M(P) / M(P₂O₅)',
          'K = K₂O × 2·M(K) / M(K₂O)',
          'element kg/ha = product kg/ha × label share',
        ]}
        parameters={[
          ['P in P₂O₅', P_IN_P2O5.toFixed(4)],
          ['K in K₂O', K_IN_K2O.toFixed(4)],
        ]}
        sources={['atomic weights: IUPAC', 'unit factors: NIST SP 811, exact']}
      >
        <p>
          Rates are kept as typed and, beside, as kg or L of product per hectare. A liquid’s mass needs its density;
          without one, nutrients by weight are not known, and the page says so. Per-season sums add what the diary’s own
          sprays put on the same plot.
        </p>
      </Method>
      <Method
        id="tanks"
        formulas={[
          'mix = area × carrier volume + reserve',
          'L/ha = 10,000 × L/min ÷ (60 × m/s × m)',
          'fl oz caught on 1/128 acre = gal/acre',
        ]}
        sources={['arithmetic; 1/128 acre method: extension practice, since 128 fl oz make a gallon']}
      >
        <p>
          Loads fill the tank to its headroom; the last one is smaller. A product’s share of a load follows the load’s
          volume, so the strength is the same in every load.
        </p>
      </Method>
      <Method
        id="salt"
        parameters={[
          ['Edition used', SALT_INDEX_EDITIONS[SALT_EDITION]],
          ['Noted from', `${SALT_NOTE_G_PER_L} g/L`],
          ['Caution from', `${SALT_CAUTION_G_PER_L} g/L`],
        ]}
        formulas={['salt load = Σ g/L × salt index / 100']}
        sources={[
          'Rader, White & Whittaker 1943, Soil Sci 55:201 (numbers from memory)',
          'Mortvedt 2001, as listed by a trade page',
          'limits of strength: common practice, no source',
        ]}
      >
        <p>
          The osmotic pressure of a material’s solution against sodium nitrate = 100. Editions disagree, so a number
          means nothing without its edition:
        </p>
        <TableHold label="Salt index by edition">
          <table>
            <thead>
              <tr>
                <th scope="col">Material</th>
                {editions.map((edition) => (
                  <th key={edition} scope="col" className="number">
                    {SALT_INDEX_EDITIONS[edition]}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {materials.map((material) => (
                <tr key={material}>
                  <th scope="row">{material}</th>
                  {editions.map((edition) => (
                    <td key={edition} className="number">
                      {SALT_INDEX[edition][material] ?? 'not listed'}
                    </td>
                  ))}
                </tr>
              ))}
            </tbody>
          </table>
        </TableHold>
      </Method>
      <Method
        id="limits"
        parameters={[
          ['Iron, best colour', kgPerHa(IRON_BEST_KG_PER_HA)],
          ['Iron, more still helped to', kgPerHa(IRON_MOST_USEFUL_KG_PER_HA)],
          ['Iron, leaf dieback above', kgPerHa(IRON_DIEBACK_KG_PER_HA)],
          ['Foliar N as studied', kgPerHa(FOLIAR_N_STUDIED_KG_PER_HA)],
          ['Foliar N that burned', kgPerHa(FOLIAR_N_BURNED_KG_PER_HA)],
          ['Heat, caution', degrees(HEAT_CAUTION_C)],
          ['Heat, no iron', degrees(HEAT_STOP_IRON_C)],
          ['Iron salt keeps below', `pH ${IRON_SALT_PH}`],
          [
            'Chelates hold iron to',
            `pH ${CHELATE_PH.EDTA} (EDTA, or a kind nobody named), ${CHELATE_PH.HEDTA} (HEDTA), ${CHELATE_PH.DTPA} (DTPA), ${CHELATE_PH.EDDHA} (EDDHA)`,
          ],
          ['Humic falls out below', `pH ${HUMIC_PH}`],
          ['Gypsum', `${GYPSUM_MMOL_PER_L} mmol/L each`],
        ]}
        sources={[
          'iron: Yust, Wehner & Fermanian 1984, Agron J 76:934; University of Nebraska 2018; dieback: extension text, seen in a copy only',
          'nitrogen: Stiegler, Richardson & Karcher 2011, Crop Sci 51:1253; Agnew & Moore 1989',
          'gypsum: handbook, from memory; heat and pH limits: common practice',
        ]}
      >
        <p>
          Label rate, interval and season cap are checked against the diary’s own sprays on the same plots; sprays
          within 12 h count as one application. The label is the law and wins over every number here.
        </p>
      </Method>
      <Method
        id="water"
        formulas={['Σ z·[ion] = 0 at the pH of the mix', 'log₁₀ γ = −A z² ( √I / (1 + √I) − 0.3 I )']}
        parameters={[
          ['pKw', PKW],
          ['pKH of CO₂', PKH_CO2],
          ['CO₂ outdoors', `${significant(OUTDOOR_PCO2_ATM * 1e6)} ppm`],
          ['Davies holds to', `${DAVIES_LIMIT_MOL_PER_L} mol/L`],
          ...Object.entries(SYSTEMS).map(([name, system]) => [`pK of ${name}`, system.pK.join(', ')] as const),
        ]}
        sources={[
          'carbonate: Plummer & Busenberg 1982 (digits from memory)',
          'citric, phosphoric, sulfate, ammonia, acetic: LibreTexts appendix E1',
          'iron(II): Baes & Mesmer 1976, iron(III) EDTA: from memory',
          'activities: Davies 1962',
        ]}
      >
        <p>
          The charges of everything dissolved must cancel; the pH at which they do is the tank’s. Closed means as mixed,
          open means after CO₂ has left for the air. At a given pH the balance is linear in the acid, so the dose
          follows without guessing. pH alone can’t set a dose: alkalinity can. All constants hold at 25 °C. A product
          whose composition isn’t known makes the pH unknown: measure it in a jar.
        </p>
      </Method>
    </>
  );
}

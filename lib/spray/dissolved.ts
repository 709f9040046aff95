import { ATOMIC_WEIGHT as W } from '@/lib/units/atomic-weight';
import type { CompositionPart } from './composition';
import type { MixingKind } from './mixing-order';
import { type GuaranteedAnalysis, totalNPercent } from './nutrients';

/** What goes into the tank and is no salt: surfactants, dyes, emulsions. */
export const NOT_SALT: ReadonlySet<MixingKind> = new Set<MixingKind>(['surfactant', 'dye', 'emulsion']);

/** What a product is made of, as far as anyone said. */
export interface Dissolving {
  readonly form: 'liquid' | 'dry';
  readonly composition: readonly CompositionPart[] | null;
  readonly analysis: GuaranteedAnalysis;
  readonly mixingKind: MixingKind;
}

/** Share of a product that is dissolved material in the mix, 0 to 1, and what it was told from. */
export interface DissolvedShare {
  readonly share: number;
  /** `whole`: a dry product of unknown composition, all of which is taken to dissolve. */
  readonly from: 'composition' | 'analysis' | 'whole';
}

const NH4 = W.N + 4 * W.H;
const NO3 = W.N + 3 * W.O;
const SO4 = W.S + 4 * W.O;
const UREA = W.C + W.O + 2 * W.N + 4 * W.H;
const H2PO4 = 2 * W.H + W.P + 4 * W.O;
const P2O5 = 2 * W.P + 5 * W.O;
const K_SHARE_OF_K2O = (2 * W.K) / (2 * W.K + W.O);
/**
 * Iron held by EDTA weighs so many times the iron: the complex is Fe and C10H12N2O8. The heavier chelates weigh more.
 */
const EDTA_COMPLEX_PER_IRON = (W.Fe + 10 * W.C + 12 * W.H + 2 * W.N + 8 * W.O) / W.Fe;

/**
 * Share of a product that is dissolved material, 0 to 1: never the water a liquid brings along. With a composition it
 * is what isn't water. A liquid without one is told from its guaranteed analysis, as the ions that carry the nutrients:
 * urea for urea and other nitrogen, H2PO4 for phosphate, sulfate for sulfur, EDTA for a chelate's iron, and sulfate for
 * whatever charge the label leaves open. Potassium chloride instead of sulfate would be a tenth less, organic matter
 * comes on top.
 * @returns null for a liquid that states neither
 */
export function dissolvedShare({ form, composition, analysis, mixingKind }: Dissolving): DissolvedShare | null {
  if (composition !== null) {
    const parts = composition.filter((part) => part.substance !== 'water');
    return {
      share: Math.min(
        1,
        parts.reduce((sum, part) => sum + part.massShare, 0),
      ),
      from: 'composition',
    };
  }
  if (form === 'dry') return { share: 1, from: 'whole' };
  const share = shareOfAnalysis(analysis, mixingKind === 'chelate');
  return share === 0 ? null : { share: Math.min(1, share), from: 'analysis' };
}

function shareOfAnalysis(a: GuaranteedAnalysis, chelated: boolean): number {
  const of = (percent: number | undefined): number => (percent ?? 0) / 100;
  const ammonium = of(a.ammoniacalNPercent) / W.N; // mol of ion in a gram of product
  const nitrate = of(a.nitrateNPercent) / W.N;
  const restN = Math.max(0, totalNPercent(a) / 100 - of(a.ammoniacalNPercent) - of(a.nitrateNPercent));
  const phosphate = (2 * of(a.p2o5Percent)) / P2O5;
  const potassium = (of(a.k2oPercent) * K_SHARE_OF_K2O) / W.K;
  const sulfate = of(a.sPercent) / W.S;
  const metals = [
    [a.mgPercent, W.Mg],
    [a.mnPercent, W.Mn],
    [a.znPercent, W.Zn],
    [a.caPercent, W.Ca],
  ] as const;
  const iron = of(a.fePercent);
  const charge =
    ammonium +
    potassium +
    metals.reduce((sum, [percent, weight]) => sum + (2 * of(percent)) / weight, 0) +
    (chelated ? 0 : (2 * iron) / W.Fe) -
    nitrate -
    phosphate -
    2 * sulfate;
  return (
    ammonium * NH4 +
    nitrate * NO3 +
    (restN / (2 * W.N)) * UREA +
    phosphate * H2PO4 +
    potassium * W.K +
    sulfate * SO4 +
    metals.reduce((sum, [percent]) => sum + of(percent), 0) +
    iron * (chelated ? EDTA_COMPLEX_PER_IRON : 1) +
    (Math.max(0, charge) / 2) * SO4
  );
}

import type { Role } from './application';
import type { CompositionPart } from './composition';
import type { MixingKind } from './mixing-order';
import type { GuaranteedAnalysis } from './nutrients';

/** A material by its chemical name, never a brand; the label of what was bought wins over every figure here. */
export interface GenericMaterial {
  readonly id: string;
  readonly name: string;
  readonly form: 'liquid' | 'dry';
  readonly densityKgPerL: number | null;
  readonly analysis: GuaranteedAnalysis;
  /** Null: not known well enough to predict a pH. */
  readonly composition: readonly CompositionPart[] | null;
  readonly roles: readonly Role[];
  readonly mixingKind: MixingKind;
  /** Iron held by a chelate doesn't meet phosphate or alkaline water as a salt does. */
  readonly ironIs?: 'salt' | 'chelate';
  readonly cautions: readonly string[];
  readonly source: string;
}

const FORMULA = 'formula weight (IUPAC atomic weights); grade as commonly labelled';
const HANDBOOK = 'strength and density at 20 °C from handbook tables, from memory';
const GLOVES = 'Gloves and eye protection.';
const ACID = 'Corrosive: gloves and eye protection; acid into water, never the reverse; never with chlorine bleach.';
const STAINS = 'Iron stains concrete, brick and paint: keep off hard surfaces.';

const pure = (substance: string, massShare = 1): readonly CompositionPart[] => [{ substance, massShare }];

// prettier-ignore
export const GENERIC_MATERIALS: readonly GenericMaterial[] = [
  { id: 'ammonium-sulfate', name: 'Ammonium sulfate 21-0-0-24S', form: 'dry', densityKgPerL: null, analysis: { totalNPercent: 21, ammoniacalNPercent: 21, sPercent: 24 }, composition: pure('ammonium sulfate', 0.99), roles: ['nitrogen'], mixingKind: 'soluble salt', cautions: ['Burns at high strength; surfactant makes it worse (common practice, no source).'], source: FORMULA },
  { id: 'urea', name: 'Urea 46-0-0', form: 'dry', densityKgPerL: null, analysis: { totalNPercent: 46, ureaNPercent: 46 }, composition: pure('urea', 0.986), roles: ['nitrogen'], mixingKind: 'soluble salt', cautions: ['Cools the water as it dissolves; burns at high strength.'], source: FORMULA },
  { id: 'potassium-nitrate', name: 'Potassium nitrate 13-0-46', form: 'dry', densityKgPerL: null, analysis: { totalNPercent: 13, nitrateNPercent: 13, k2oPercent: 46 }, composition: pure('potassium nitrate', 0.985), roles: ['nitrogen', 'potassium'], mixingKind: 'soluble salt', cautions: ['Oxidiser: keep from fuel and other combustibles.'], source: FORMULA },
  { id: 'mkp', name: 'Monopotassium phosphate 0-52-34', form: 'dry', densityKgPerL: null, analysis: { p2o5Percent: 51.5, k2oPercent: 34 }, composition: pure('monopotassium phosphate', 0.985), roles: ['phosphorus', 'potassium'], mixingKind: 'soluble salt', cautions: ['Phosphorus: local rules may forbid it on lawns.'], source: `${FORMULA}; pure salt holds 52.15 % P2O5 and 34.61 % K2O` },
  { id: 'map', name: 'Monoammonium phosphate 12-61-0', form: 'dry', densityKgPerL: null, analysis: { totalNPercent: 12, ammoniacalNPercent: 12, p2o5Percent: 61 }, composition: pure('monoammonium phosphate', 0.985), roles: ['nitrogen', 'phosphorus'], mixingKind: 'soluble salt', cautions: ['Phosphorus: local rules may forbid it on lawns.'], source: FORMULA },
  { id: 'potassium-sulfate', name: 'Potassium sulfate 0-0-53-18S', form: 'dry', densityKgPerL: null, analysis: { k2oPercent: 53, sPercent: 18 }, composition: pure('potassium sulfate', 0.98), roles: ['potassium'], mixingKind: 'soluble salt', cautions: ['Dissolves slowly: about 110 g/L at 20 °C (handbook, from memory).'], source: FORMULA },
  { id: 'magnesium-sulfate', name: 'Magnesium sulfate heptahydrate (9.8 % Mg)', form: 'dry', densityKgPerL: null, analysis: { mgPercent: 9.8, sPercent: 12.9 }, composition: pure('magnesium sulfate heptahydrate', 0.995), roles: ['magnesium'], mixingKind: 'soluble salt', cautions: [], source: FORMULA },
  { id: 'manganese-sulfate', name: 'Manganese sulfate monohydrate (32 % Mn)', form: 'dry', densityKgPerL: null, analysis: { mnPercent: 32, sPercent: 18.5 }, composition: pure('manganese sulfate monohydrate', 0.985), roles: ['manganese'], mixingKind: 'soluble salt', cautions: [GLOVES], source: FORMULA },
  { id: 'ferrous-sulfate-heptahydrate', name: 'Ferrous sulfate heptahydrate (20 % Fe)', form: 'dry', densityKgPerL: null, analysis: { fePercent: 20, sPercent: 11.5 }, composition: pure('ferrous sulfate heptahydrate', 0.995), roles: ['iron'], mixingKind: 'iron salt', ironIs: 'salt', cautions: [STAINS, GLOVES, 'Turns to rust in alkaline or old mixes; real material is more acid than its formula.'], source: FORMULA },
  { id: 'ferrous-sulfate-monohydrate', name: 'Ferrous sulfate monohydrate (30 % Fe)', form: 'dry', densityKgPerL: null, analysis: { fePercent: 30, sPercent: 17 }, composition: pure('ferrous sulfate monohydrate', 0.91), roles: ['iron'], mixingKind: 'iron salt', ironIs: 'salt', cautions: [STAINS, GLOVES, 'Dissolves slower than the heptahydrate.'], source: `${FORMULA}; pure salt holds 32.87 % Fe` },
  { id: 'iron-edta', name: 'Iron EDTA, dry (13 % Fe)', form: 'dry', densityKgPerL: null, analysis: { fePercent: 13 }, composition: pure('sodium ferric EDTA', 0.854), roles: ['iron'], mixingKind: 'chelate', ironIs: 'chelate', cautions: [STAINS], source: `${FORMULA}; sodium ferric EDTA anhydrous holds 15.21 % Fe, the rest taken as crystal water` },
  { id: 'citric-anhydrous', name: 'Citric acid, anhydrous', form: 'dry', densityKgPerL: null, analysis: {}, composition: pure('citric acid'), roles: ['acidifier'], mixingKind: 'acid', cautions: ['Irritates eyes: eye protection. Never with chlorine bleach.'], source: FORMULA },
  { id: 'citric-monohydrate', name: 'Citric acid, monohydrate', form: 'dry', densityKgPerL: null, analysis: {}, composition: pure('citric acid monohydrate'), roles: ['acidifier'], mixingKind: 'acid', cautions: ['Irritates eyes: eye protection. Never with chlorine bleach.'], source: FORMULA },
  { id: 'phosphoric-75', name: 'Phosphoric acid 75 % (0-54-0)', form: 'liquid', densityKgPerL: 1.58, analysis: { p2o5Percent: 54.3 }, composition: [{ substance: 'phosphoric acid', massShare: 0.75 }, { substance: 'water', massShare: 0.25 }], roles: ['acidifier', 'phosphorus'], mixingKind: 'acid', cautions: [ACID, 'Phosphorus: local rules may forbid it on lawns.'], source: HANDBOOK },
  { id: 'sulfuric-35', name: 'Sulfuric acid 35 %', form: 'liquid', densityKgPerL: 1.26, analysis: { sPercent: 11.4 }, composition: [{ substance: 'sulfuric acid', massShare: 0.35 }, { substance: 'water', massShare: 0.65 }], roles: ['acidifier'], mixingKind: 'acid', cautions: [ACID, 'Among the most hazardous acids a gardener can buy; citric is the safest (University of Massachusetts, Adjusting alkalinity with acids).'], source: `${HANDBOOK}; density 1.26 as the PT horticulture table implies` },
  { id: 'vinegar-5', name: 'Household vinegar (acetic acid 5 %)', form: 'liquid', densityKgPerL: 1.006, analysis: {}, composition: [{ substance: 'acetic acid', massShare: 0.05 }, { substance: 'water', massShare: 0.95 }], roles: ['acidifier'], mixingKind: 'acid', cautions: ['Never with chlorine bleach.'], source: HANDBOOK },
  { id: 'aqua-ammonia', name: 'Aqua ammonia 24.5 % (20-0-0)', form: 'liquid', densityKgPerL: 0.91, analysis: { totalNPercent: 20, ammoniacalNPercent: 20 }, composition: [{ substance: 'ammonia', massShare: 0.245 }, { substance: 'water', massShare: 0.755 }], roles: ['nitrogen'], mixingKind: 'alkaline liquid', cautions: ['Caustic, and its fumes burn eyes and lungs: outdoors, gloves, eye protection; never with chlorine bleach; never onto undiluted acid.'], source: HANDBOOK },
  { id: 'calcium-nitrate', name: 'Calcium nitrate, water-free (17 % N, 24 % Ca)', form: 'dry', densityKgPerL: null, analysis: { totalNPercent: 17, nitrateNPercent: 17, caPercent: 24.4 }, composition: pure('calcium nitrate'), roles: ['nitrogen', 'other'], mixingKind: 'soluble salt', cautions: ['Never with sulfate or phosphate in concentrate.', 'Oxidiser: keep from fuel and other combustibles.'], source: FORMULA },
  { id: 'potassium-bicarbonate', name: 'Potassium bicarbonate', form: 'dry', densityKgPerL: null, analysis: { k2oPercent: 47 }, composition: pure('potassium bicarbonate'), roles: ['potassium', 'other'], mixingKind: 'soluble salt', cautions: ['Alkaline: undoes an acidifier, with foam.'], source: FORMULA },
  { id: 'humic-extract', name: 'Humic extract, potassium humate 12 %', form: 'liquid', densityKgPerL: 1.1, analysis: {}, composition: null, roles: ['humic'], mixingKind: 'humic or seaweed', cautions: ['Alkaline as sold, of no fixed composition: measure the pH of a jar of the mix.'], source: 'common practice, no source; composition differs from pit to pit' },
  { id: 'seaweed-extract', name: 'Seaweed extract, liquid', form: 'liquid', densityKgPerL: 1.1, analysis: { k2oPercent: 1 }, composition: null, roles: ['other'], mixingKind: 'humic or seaweed', cautions: ['Often preserved at pH 9 to 11 or 3 to 4: measure the pH of a jar of the mix.'], source: 'common practice, no source' },
  { id: 'non-ionic-surfactant', name: 'Non-ionic surfactant 80 %', form: 'liquid', densityKgPerL: 1.0, analysis: {}, composition: [{ substance: 'non-ionic surfactant', massShare: 0.8 }, { substance: 'water', massShare: 0.2 }], roles: ['surfactant'], mixingKind: 'surfactant', cautions: ['Usual strength 0.1 to 0.25 % v/v (common practice, no source).', GLOVES], source: 'common practice, no source; taken to leave pH alone' },
];

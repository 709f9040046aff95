import 'server-only';
import type { AnalysisPlan, PlotValue } from '@/lib/trial/analyse';
import { analyseTrial, type TrialAnalysis } from '@/lib/trial/over-time';
import type { TrialRecord } from './trial-record';
import { valuesOf, type AnalysisChoices } from './trial-values';
import { ratesOf, treatmentCosts } from './treatment-rates';

export interface TrialFindings {
  choices: AnalysisChoices;
  plan: AnalysisPlan;
  values: PlotValue[];
  analysis: TrialAnalysis;
  /** Money per hectare over all sprays so far, by treatment; a treatment is missing when a price is. */
  costPerHa: Record<string, number>;
  currency: string | null;
}

/** A change of one photo against another is known to about this much (index units). */
const NOISE_OF_A_DIFFERENCE = 0.005;

/** Analyses a trial as asked: per day and over time. */
export function analyseRecord(record: TrialRecord, choices: AnalysisChoices): TrialFindings {
  const { trial } = record;
  const check = trial.treatments.find((treatment) => treatment.isCheck)?.name ?? null;
  const plan: AnalysisPlan = {
    layout: trial.design,
    measure: choices.measure === 'rating' || choices.measure === 'measured' ? 'index' : choices.measure,
    check,
    scale: choices.measure === 'rating' ? 'ordinal' : 'interval',
    comparison: choices.comparison,
    treatmentOrder: trial.treatments.map((treatment) => treatment.name),
    margin: choices.margin ?? null,
    rates: ratesOf(trial, record.lawn.unitSystem),
  };
  const values = valuesOf(record, choices);
  const { costPerHa, currency } = treatmentCosts(record);
  return {
    choices,
    plan,
    values,
    analysis: analyseTrial(
      values,
      plan,
      costPerHa,
      choices.measure === 'change-against-check' ? NOISE_OF_A_DIFFERENCE : 0,
    ),
    costPerHa,
    currency,
  };
}

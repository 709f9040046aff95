/** How a product goes into water; sets its place in the order. */
export const MIXING_KINDS = [
  'acid',
  'water conditioner',
  'suspension',
  'soluble salt',
  'iron salt',
  'chelate',
  'liquid fertiliser',
  'alkaline liquid',
  'humic or seaweed',
  'emulsion',
  'surfactant',
  'dye',
] as const;
export type MixingKind = (typeof MIXING_KINDS)[number];

/**
 * Every step is common practice of spray guides (water, conditioner, dry, liquids, surfactant last), no single source.
 */
// prettier-ignore
const STEPS: readonly { readonly kind: MixingKind; readonly reason: string }[] = [
  { kind: 'acid', reason: 'Acid into water, never the reverse; the pH is down before anything that suffers in hard or alkaline water meets it.' },
  { kind: 'water conditioner', reason: 'Ties up calcium and magnesium before they can meet the products.' },
  { kind: 'suspension', reason: 'Needs the most water and stirring to disperse.' },
  { kind: 'soluble salt', reason: 'Dissolve it fully in plenty of water before liquids: ammonium salts and urea cool the water and dissolve slower.' },
  { kind: 'iron salt', reason: 'Only into water that is already acid, and never beside phosphate: it falls out as rust or iron phosphate.' },
  { kind: 'chelate', reason: 'After the salts, so that dissolved calcium is spread out before it can compete for the chelate.' },
  { kind: 'liquid fertiliser', reason: 'Already dissolved: it only needs stirring in.' },
  { kind: 'alkaline liquid', reason: 'Well away from the acid: together undiluted they boil up; ammonia escapes from alkaline water.' },
  { kind: 'humic or seaweed', reason: 'Late, in a well-filled tank: humic acid falls out in strongly acid concentrate.' },
  { kind: 'emulsion', reason: 'Into a nearly full tank: salts poured on an emulsion break it.' },
  { kind: 'dye', reason: 'Late, so that the colour shows an even mix.' },
  { kind: 'surfactant', reason: 'Last, with little stirring after it: it foams.' },
];

export interface MixingStep {
  readonly products: readonly string[];
  readonly instruction: string;
  readonly reason: string;
}

/**
 * The order in which a tank is filled, with the reason for each step: water, then the products by kind, then the rest
 * of the water. Products of one kind keep the order given. The label's own order wins over this one.
 */
export function mixingOrder(
  products: readonly { readonly name: string; readonly kind: MixingKind }[],
): readonly MixingStep[] {
  const steps = STEPS.flatMap(({ kind, reason }) => {
    const names = products.filter((product) => product.kind === kind).map((product) => product.name);
    return names.length === 0
      ? []
      : [{ products: names, instruction: `Add ${names.join(', then ')}; stir until even.`, reason }];
  });
  return [
    {
      products: [],
      instruction: 'Fill the tank half with water and keep it moving.',
      reason: 'Each product meets plenty of water, not the next product undiluted.',
    },
    ...steps,
    {
      products: [],
      instruction: 'Fill up with water to the mark and stir; spray the same day.',
      reason: 'A mix that stands settles, warms and drifts in pH as carbon dioxide leaves.',
    },
  ];
}

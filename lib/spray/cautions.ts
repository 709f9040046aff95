/** Shown on the plan, the tank card and the report, always and in this order. */
export const CAUTIONS: readonly string[] = [
  'The label is the law and wins over this tool.',
  'Gloves and eye protection with acids and concentrates.',
  'Acid into water, never water into acid.',
  'Never with chlorine bleach, nor in a tank that held it.',
  'Keep off hard surfaces (iron stains concrete) and out of drains, ponds and streams.',
  'People and pets stay off until the spray has dried.',
  'Local fertiliser and phosphorus rules and licences apply.',
  'When unsure, ask the county extension service or a licensed applicator.',
];

/**
 * Salt index: osmotic pressure of a material's solution against the same weight of sodium nitrate, which is 100.
 * Editions disagree (ammonium sulfate 69 or 88.3), so a number means nothing without its edition. Rader: Rader, White &
 * Whittaker 1943, Soil Sci 55:201-218; numbers from memory, a rounded garden list agrees. Mortvedt: Mortvedt 2001 as
 * listed by a trade page.
 */
export const SALT_INDEX_EDITIONS = {
  'rader-1943': 'Rader, White & Whittaker 1943',
  'mortvedt-2001': 'Mortvedt 2001',
} as const;
export type SaltIndexEdition = keyof typeof SALT_INDEX_EDITIONS;

export const SALT_INDEX: Readonly<Record<SaltIndexEdition, Readonly<Record<string, number>>>> = {
  'rader-1943': {
    'sodium nitrate': 100,
    'ammonium nitrate': 104.7,
    'ammonium sulfate': 69.0,
    urea: 75.4,
    'potassium chloride': 116.3,
    'potassium nitrate': 73.6,
    'potassium sulfate': 46.1,
    'monoammonium phosphate': 29.9,
    'diammonium phosphate': 34.2,
    'calcium nitrate': 52.5,
    'magnesium sulfate heptahydrate': 44,
  },
  'mortvedt-2001': {
    'sodium nitrate': 100,
    urea: 74.4,
    'ammonium nitrate': 104,
    'calcium nitrate': 65,
    'monoammonium phosphate': 26.7,
    'monopotassium phosphate': 8.4,
    'diammonium phosphate': 29.2,
    'ammonium sulfate': 88.3,
    'potassium nitrate': 69.5,
    'potassium chloride': 116.2,
    'potassium sulfate': 42.6,
    'sodium chloride': 153.8,
  },
};

/** The index of a material in an edition, or null when that edition doesn't list it. */
export function saltIndex(material: string, edition: SaltIndexEdition): number | null {
  const table = SALT_INDEX[edition];
  return Object.hasOwn(table, material) ? (table[material] ?? null) : null;
}

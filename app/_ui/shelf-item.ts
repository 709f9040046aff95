/** A product as a mix is put together from it: its name, and the rate its label prints first. */
export interface ShelfProduct {
  id: string;
  name: string;
  form: 'liquid' | 'dry';
  usualValue: number | null;
  /** Whether it brings nitrogen: then its rate may be told by that. */
  bringsNitrogen?: boolean;
  usualUnit: string | null;
}

/** One product of a mix, as typed. */
export interface ItemStart {
  productId: string;
  value: string;
  unit: string;
}

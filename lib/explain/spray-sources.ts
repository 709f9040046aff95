export const HULL = 'Hull 2000 (much iron darkens; heat and nitrogen add to it)';

export const DIEBACK = 'extension text on Kentucky bluegrass, seen in a copy only';

export const DILUTION = 'Agnew & Moore 1989; Wesely 1983 (burn grows with nitrogen rate and with less water)';

export const MECHANISM = 'North Dakota State University 2005 (wheat: burn when a warm film dries within the hour)';

export const UPTAKE =
  'Henning, Mulvaney & Branham 2013; Stiegler, Richardson & Karcher 2011 (most leaf uptake in the first hours)';

export const SALT_SURFACTANT =
  'related only: Nalewaja & Matysiak 2000 (ammonium salt and surfactant raised uptake of a herbicide in crabgrass); for turf fertiliser common practice, no source';

export const DRIFT = 'pesticidestewardship.org, where a label names no wind';

export const LABEL = 'the product label';

export const RECORD = 'the record';

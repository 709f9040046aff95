import 'server-only';

/** What is written down of something: whatever may be unknown may also be left out. */
export type KnownOf<T> = { [K in keyof T as null extends T[K] ? never : K]: T[K] } & {
  [K in keyof T as null extends T[K] ? K : never]?: T[K];
};

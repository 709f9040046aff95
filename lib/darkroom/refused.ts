import 'server-only';

/** Why a photo wasn't taken in; the kind of trouble, for those who must tell them apart. */
export type RefusalCode =
  | 'empty'
  | 'too-large'
  | 'unknown-kind'
  | 'too-many-pixels'
  | 'too-small'
  | 'animated'
  | 'truncated'
  | 'unreadable'
  | 'missing';

/** A photo that can't be used, in one sentence a person can act on: what was expected, what came. */
export class PhotoRefused extends Error {
  override readonly name = 'PhotoRefused';
  readonly code: RefusalCode;

  constructor(code: RefusalCode, sentence: string, options?: ErrorOptions) {
    super(sentence, options);
    this.code = code;
  }
}

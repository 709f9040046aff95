declare module 'heic-decode' {
  /** Decodes the first picture of a HEIC file, turned as its own boxes say. */
  export default function decode(input: {
    buffer: Uint8Array;
  }): Promise<{ width: number; height: number; data: Uint8ClampedArray }>;
}

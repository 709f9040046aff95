export interface Kernel {
  readonly folder: string;
  readonly source: string;
  readonly constant: string;
  /** What stands before the constant, where its ring asks for it. */
  readonly head?: string;
}

export const KERNELS: readonly Kernel[];

/** The compiled module, in base64; of the first kernel when none is named. */
export function compileKernel(kernel?: Kernel): Promise<string>;

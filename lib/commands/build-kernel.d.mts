/** The compiled module, in base64. */
export function compileKernel(): Promise<string>;

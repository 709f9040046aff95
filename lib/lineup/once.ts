import 'server-only';

/**
 * Makes what is asked of a thing (a photo, a copy) once: the last answer is kept as long as the thing itself, and given
 * again where the same is asked. A baseline is lined up with one photo after another.
 */
export function onceFor<Of extends object, Made>(): (of: Of, asked: string, make: () => Made) => Made {
  const kept = new WeakMap<Of, { readonly asked: string; readonly made: Made }>();
  return (of, asked, make) => {
    const known = kept.get(of);
    if (known?.asked === asked) return known.made;
    const made = make();
    kept.set(of, { asked, made });
    return made;
  };
}

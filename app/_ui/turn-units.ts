/**
 * Turns the units of a form's amounts that nobody has typed yet; `units` names each amount's unit, and what is typed
 * keeps its own.
 */
export function turnUnits(
  form: HTMLFormElement | null | undefined,
  units: Readonly<Record<string, string | undefined>>,
): void {
  for (const [name, to] of Object.entries(units)) {
    const [value, unit] = [form?.elements.namedItem(`${name}.value`), form?.elements.namedItem(`${name}.unit`)];
    if (
      to !== undefined &&
      value instanceof HTMLInputElement &&
      unit instanceof HTMLSelectElement &&
      value.value === ''
    )
      unit.value = to;
  }
}

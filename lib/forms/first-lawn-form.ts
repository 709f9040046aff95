import { z } from 'zod';
import { choiceField, optionalTextField, textField, timeZoneField } from './fields';
import { carrierField, sideField, tankField } from './measures';
import { readPlace } from './place-text';

/**
 * All that a new lawn needs, on one screen: its name, zone and units, where it lies, a check and a strip of one size
 * side by side, and the sprayer. Only name, zone and units must be there; what is left empty is left out and can be
 * given on the lawn's page.
 */
export const FirstLawnForm = z
  .object({
    name: textField('Name'),
    unitSystem: choiceField('Units', ['us-customary', 'metric']),
    timeZone: timeZoneField('Time zone'),
    place: optionalTextField('Place', 200),
    length: sideField('Length of a plot'),
    width: sideField('Width of a plot'),
    checkName: optionalTextField('Name of the check', 40),
    plotName: optionalTextField('Name of the sprayed plot', 40),
    sprayerName: optionalTextField('Sprayer', 80),
    tank: tankField('Tank'),
    carrier: carrierField('Carrier volume'),
  })
  .transform(({ place, length, width, checkName, plotName, sprayerName, tank, carrier, ...lawn }, context) => {
    const wrong = (path: string, message: string) => {
      context.addIssue({ code: 'custom', path: [path], message });
      return z.NEVER;
    };
    if ((length === null) !== (width === null))
      return wrong(
        length === null ? 'length' : 'width',
        `Plots: expected both length and width, got no ${length === null ? 'length' : 'width'}`,
      );
    if (tank === null && carrier !== null)
      return wrong('tank', 'Tank: expected its volume, since a carrier volume is given, got nothing');
    const names = { check: checkName || 'Check', sprayed: plotName || 'A' };
    if (names.check === names.sprayed)
      return wrong('plotName', `Name of the sprayed plot: expected another than the check’s, got '${names.sprayed}'`);
    const where = readPlace(place);
    const plots =
      length === null || width === null
        ? []
        : [names.check, names.sprayed].map((name, at) => {
            const left = at * width.canonical;
            const right = left + width.canonical;
            const polygonM: [number, number][] = [
              [left, length.canonical],
              [right, length.canonical],
              [right, 0],
              [left, 0],
            ];
            return {
              name,
              isCheck: at === 0,
              polygonM,
              areaM2: length.canonical * width.canonical,
              areaEnteredValue: null,
              areaEnteredUnit: null,
              groundPlace: 'plan' as const,
              note: '',
            };
          });
    // prettier-ignore
    const sprayer = tank === null ? null : {
      name: sprayerName || 'Sprayer', tankL: tank.canonical, tankEnteredValue: tank.value, tankEnteredUnit: tank.unit,
      carrierLPerHa: carrier?.canonical ?? null, carrierEnteredValue: carrier?.value ?? null, carrierEnteredUnit: carrier?.unit ?? null,
      swathM: null, walkingMPerS: null, catchTestMl: null, catchTestAreaM2: null,
    };
    return {
      lawn: { ...lawn, place: where.words, latitudeDeg: where.latitudeDeg, longitudeDeg: where.longitudeDeg },
      plots,
      sprayer,
    };
  });

export type FirstLawn = z.infer<typeof FirstLawnForm>;

import { seededRandom, type Random } from '../../stats/random';
import { segments, templates, names, values, fieldNames, headerChoices } from './fuzz-words';

export interface Known {
  readonly ids: readonly string[];
  readonly actions: readonly { readonly id: string; readonly pages: readonly string[] }[];
}

const pick = <T>(random: Random, list: readonly T[]) => list[random.below(list.length)] as T;

function randomPath(random: Random, known: Known): string {
  const segment = () => (random.next() < 0.35 ? pick(random, known.ids) : pick(random, segments));
  const place = pick(random, templates).replaceAll(':', () => segment());
  const parts = Array.from(
    { length: random.below(4) },
    () =>
      `${encodeURIComponent(pick(random, names))}=${random.next() < 0.5 ? encodeURIComponent(pick(random, values)) : pick(random, values).replaceAll(/[^\x21-\x7e]/g, '')}`,
  );
  return `${place.replaceAll(/[^\x21-\x7e]/gu, (character) => encodeURIComponent(character))}${parts.length > 0 ? `?${parts.join('&')}` : ''}`;
}

export interface Throw {
  readonly method: string;
  readonly path: string;
  readonly headers: Record<string, string>;
  readonly body: Buffer | null;
}

function randomJson(random: Random, known: Known, depth = 0): unknown {
  const choice = random.below(depth > 3 ? 6 : 9);
  if (choice === 0) return pick(random, known.ids);
  if (choice === 1) return pick(random, values);
  if (choice === 2)
    return pick(random, [
      null,
      true,
      false,
      0,
      -1,
      1e308,
      '$undefined',
      '$K1',
      '$F1',
      '$@1',
      '$1',
      '$Q1',
      '$W1',
      '$D9999',
      '$n99999999999',
      '$-Infinity',
      '$Sx',
      '$T',
      '$B1',
      '$h1',
      '$r1',
    ]);
  if (choice < 6) return `${pick(random, ['$', '$$', ''])}${pick(random, values)}`;
  if (choice < 8) return Array.from({ length: random.below(4) }, () => randomJson(random, known, depth + 1));
  return Object.fromEntries(
    Array.from({ length: random.below(4) }, () => [
      pick(random, [...names, 'id', 'then', '__proto__', 'constructor', 'status']),
      randomJson(random, known, depth + 1),
    ]),
  );
}

function multipart(random: Random, known: Known, action: string | null): { type: string; body: Buffer } {
  const boundary = `x${random.nextUint32()}`;
  const parts: string[] = [];
  const add = (name: string, value: string) =>
    parts.push(
      `--${boundary}\r\nContent-Disposition: form-data; name="${name.replaceAll('"', '')}"${random.next() < 0.03 ? '; filename="x.jpg"\r\nContent-Type: image/jpeg' : ''}\r\n\r\n${value}\r\n`,
    );
  if (action !== null && random.next() < 0.5) add(`$ACTION_ID_${action}`, '');
  else if (action !== null) {
    add('$ACTION_REF_1', '');
    add(
      '$ACTION_1:0',
      random.next() < 0.8
        ? JSON.stringify({ id: action, bound: pick(random, ['$@1', null, '$1', '$@9', []]) })
        : JSON.stringify(randomJson(random, known)),
    );
    add(
      '$ACTION_1:1',
      JSON.stringify(
        random.next() < 0.6
          ? Array.from({ length: random.below(4) }, () => pick(random, [...known.ids, null, 1, 'x']))
          : randomJson(random, known),
      ),
    );
    add('$ACTION_KEY', 'k1');
  }
  for (let i = random.below(6); i > 0; i--)
    add(pick(random, fieldNames), random.next() < 0.4 ? pick(random, known.ids) : pick(random, values));
  const whole = `${parts.join('')}--${boundary}--\r\n`;
  return {
    type: `multipart/form-data; boundary=${random.next() < 0.95 ? boundary : 'other'}`,
    body: Buffer.from(random.next() < 0.05 ? whole.slice(0, random.below(whole.length)) : whole),
  };
}

/** One random request, made from its seed and number alone. */
export function randomRequest(seed: number, index: number, known: Known): Throw {
  const random = seededRandom(`request ${seed} ${index}`);
  const headers: Record<string, string> = {};
  for (let i = random.below(3); i > 0; i--) {
    const [name, choices] = pick(random, headerChoices);
    headers[name] = pick(random, choices);
  }
  const where = randomPath(random, known);
  const kind = random.next();
  if (kind < 0.4)
    return {
      method: random.next() < 0.9 ? 'GET' : pick(random, ['HEAD', 'DELETE', 'PATCH', 'OPTIONS', 'POST']),
      path: where,
      headers,
      body: null,
    };
  if (kind < 0.5) {
    const target = pick(random, [
      '/api/photos',
      '/api/weather/ask',
      '/api/weather/files',
      `/api/weather/files/${pick(random, known.ids)}`,
    ]);
    const query = Array.from(
      { length: random.below(5) },
      () =>
        `${pick(random, ['lawn', 'name', 'viewpoint', 'modified', 'taken'])}=${encodeURIComponent(random.next() < 0.4 ? pick(random, known.ids) : pick(random, values))}`,
    ).join('&');
    return {
      method: pick(random, ['PUT', 'POST', 'DELETE']),
      path: `${target}?${query}`,
      headers,
      body: Buffer.from(random.next() < 0.5 ? JSON.stringify(randomJson(random, known)) : pick(random, values)),
    };
  }
  const built = pick(random, known.actions);
  const action = random.next() < 0.95 ? built.id : pick(random, ['x', '00', 'f'.repeat(42), '']);
  // Mostly the action's own page, where it can be found.
  const page =
    random.next() < 0.8 && built.pages.length > 0
      ? pick(random, built.pages).replaceAll(/\[[^\]]+\]/g, () => pick(random, known.ids))
      : where;
  if (random.next() < 0.45) {
    if (random.next() < 0.85) headers['next-action'] = action;
    const fetched = random.next() < 0.5;
    const form = fetched ? null : multipart(random, known, null);
    return {
      method: 'POST',
      path: page,
      headers: {
        ...headers,
        'content-type': form?.type ?? pick(random, ['text/plain;charset=UTF-8', 'application/json', '']),
      },
      body:
        form?.body ??
        Buffer.from(
          random.next() < 0.85
            ? JSON.stringify(Array.from({ length: random.below(5) }, () => randomJson(random, known)))
            : pick(random, values),
        ),
    };
  }
  const form = multipart(random, known, action);
  return { method: 'POST', path: page, headers: { ...headers, 'content-type': form.type }, body: form.body };
}

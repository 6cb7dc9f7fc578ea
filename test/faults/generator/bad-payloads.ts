/** A payload that no reading of RFC 8428 or of the metric catalogue accepts, by construction, and what is wrong with it. */
export interface BadPayload {
  readonly kind: string;
  readonly payload: Buffer;
}

const good = '[{"n":"batt_v","u":"V","v":12.5},{"n":"charge","u":"%EL","v":60}]';
const volts = (over: string) => `[{"n":"batt_v",${over}}]`;
const text = (json: string) => Buffer.from(json, 'utf8');

type Maker = (chance: () => number) => Buffer;

/** Each kind differs a little every time, so that no two have the same bytes unless a kind has nothing to vary. */
const makers: Readonly<Record<string, Maker>> = {
  empty: () => Buffer.alloc(0),
  'cut off': (chance) => text(good.slice(0, 1 + Math.floor(chance() * (good.length - 2)))),
  'not a number': (chance) => text(volts(`"u":"V","v":NaN,"t":${-chance()}`)),
  'beyond a double': (chance) => text(volts(`"u":"V","v":1e40${Math.floor(chance() * 9)}`)),
  'huge number': (chance) => text(volts(`"u":"V","v":${1 + chance()}e30`)),
  deep: (chance) => text('['.repeat(10 + Math.floor(10 ** (1 + 4 * chance())))),
  'deep and closed': (chance) => {
    const depth = 10 + Math.floor(chance() * 5000);
    return text('['.repeat(depth) + ']'.repeat(depth));
  },
  'bad utf-8': (chance) =>
    Buffer.concat([
      text('[{"n":"batt_v","u":"V","vs":"'),
      Buffer.from([0xc3, 0x28, Math.floor(chance() * 64)]),
      text('"}]'),
    ]),
  'lone surrogate': (chance) => text(volts(`"vs":"\\ud800${Math.floor(chance() * 1e6)}"`)),
  'nul in text': (chance) => text(volts(`"vs":"\\u0000${Math.floor(chance() * 1e6)}"`)),
  'reserved keys': (chance) =>
    text(`[{"__proto__":{"n":"batt_v"},"constructor":${chance()},"v":1}]`),
  'label twice': (chance) => text(volts(`"u":"V","v":${chance()},"v":${2 + chance()}`)),
  'must understand': (chance) => text(volts(`"u":"V","v":12,"mystery_":${chance()}`)),
  'no unit': (chance) => text(volts(`"v":${12 + chance()}`)),
  'unit of another kind': (chance) => text(volts(`"u":"Cel","v":${12 + chance()}`)),
  'unknown metric': (chance) =>
    text(`[{"n":"bat_voltz${Math.floor(chance() * 1e6)}","u":"V","v":12}]`),
  'name of another': (chance) =>
    text(`[{"bn":"some-other-node_","n":"batt_v","u":"V","v":${12 + chance()}}]`),
  milliseconds: (chance) =>
    text(volts(`"u":"V","v":12,"t":${1.7e12 + Math.floor(chance() * 1e9)}`)),
  'iso time': (chance) =>
    text(volts(`"u":"V","v":12,"t":"2026-01-01T00:00:${Math.floor(chance() * 60)}Z"`)),
  'far future': (chance) => text(volts(`"u":"V","v":12,"t":${4e9 + Math.floor(chance() * 1e6)}`)),
  'no value': (chance) => text(volts(`"u":"V","t":${-chance()}`)),
  'word for a number': (chance) => text(volts(`"u":"V","vs":"low ${chance()}"`)),
  'not an array': (chance) => text(`{"batt_v":${chance()}}`),
  'binary noise': (chance) =>
    // 0xc1 opens neither JSON, nor a CBOR array, nor a zlib stream.
    Buffer.from([
      0xc1,
      ...Array.from({ length: 1 + Math.floor(chance() * 300) }, () => Math.floor(chance() * 256)),
    ]),
  'cbor cut off': (chance) =>
    Buffer.from([0x8a, 0xa3, 0x00, 0x61, 0x61, Math.floor(chance() * 256)]),
  'deflate broken': (chance) =>
    Buffer.from([0x78, 0x9c, ...Array.from({ length: 20 }, () => Math.floor(chance() * 256))]),
  'long and wrong': (chance) =>
    text(volts(`"u":"V","vs":"${'x'.repeat(Math.floor(chance() * 100_000))}"`)),
};
const kinds = Object.keys(makers);

export function badPayload(chance: () => number): BadPayload {
  const kind = kinds[Math.floor(chance() * kinds.length)] ?? 'empty';
  return { kind, payload: makers[kind]?.(chance) ?? Buffer.alloc(0) };
}

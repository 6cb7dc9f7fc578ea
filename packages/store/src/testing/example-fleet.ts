import type {
  AcceptedMessage,
  FieldNode,
  MetricKey,
  NodeName,
  PowerSystem,
  Sample,
  Site,
  SiteId,
} from '@duskline/domain';
import type { Store } from '../store.ts';

/** What the tests of the store put into it: invented, and the same every time. */

export const examplePower: PowerSystem = {
  panel: { ratedW: 20, tiltDeg: 60, azimuthDeg: 180 },
  battery: { chemistry: 'lifepo4', ratedWh: 150, seriesCells: 4 },
  charger: 'mppt',
  shutDownRatio: 0.15,
  restartRatio: 0.5,
  offStateDrawW: 0.05,
  usualGapS: 30,
};

export const exampleSite = (id: string, name: string, longitudeDeg = -2.4): Site => ({
  id: id as SiteId,
  name,
  position: { latitudeDeg: 54.4, longitudeDeg, elevationM: 310 },
  timeZone: 'Europe/London',
  access: '',
  hazards: '',
});

/** A site and its node, both named `id`. */
export async function createExampleNode(
  store: Store,
  id: string,
  { name = id, longitudeDeg = -2.4 }: { name?: string; longitudeDeg?: number } = {},
): Promise<FieldNode> {
  const site = await store.sites.create(exampleSite(id, name, longitudeDeg));
  return store.nodes.create(
    {
      name: id as NodeName,
      siteId: site.id,
      power: examplePower,
      commissionedAtMs: Date.UTC(2026, 0, 1),
    },
    new Uint8Array([1, 2, 3]),
  );
}

export function exampleSample(
  observedAtMs: number,
  readings: Readonly<Partial<Record<MetricKey, number>>>,
): Sample {
  const metrics = (Object.keys(readings) as MetricKey[]).sort();
  return {
    observedAtMs,
    metrics,
    values: metrics.map((metric) => readings[metric] ?? 0),
    timeQuality: 'synced',
  };
}

export function exampleMessage(
  node: string,
  { receivedAtMs, ...rest }: Partial<AcceptedMessage> & { readonly receivedAtMs: number },
): AcceptedMessage {
  return { node: node as NodeName, lane: 'live', samples: [], receivedAtMs, ...rest };
}

/** Numbers in [0, 1), the same for the same seed: mulberry32 (public domain, T. Ettinger, from memory). */
export function randomFrom(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296;
  };
}

/** The items in another order (Fisher and Yates). */
export function shuffled<T>(items: readonly T[], random: () => number): T[] {
  const result = [...items];
  for (let i = result.length - 1; i > 0; i -= 1) {
    const j = Math.floor(random() * (i + 1));
    [result[i], result[j]] = [result[j] as T, result[i] as T];
  }
  return result;
}

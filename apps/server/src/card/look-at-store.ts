import { type MetricKey, type NodeId, type Sample } from '@duskline/domain';
import {
  sameWallTime,
  unitScale,
  usualStepMs,
  type CardDoubt,
  type CardTally,
} from '@duskline/intake';
import type { CardBatch, CardCounts, Store } from '@duskline/store';
import type { CardLook } from './card-json.ts';
import type { CardPlan, ReadText } from './read-card.ts';

/** How readings of a text are told from those that came by air. */
export type MergeRule = Pick<CardBatch, 'tolerance' | 'timeStepMs'>;

/** Lines this many steps of their written times apart cannot be mistaken for one another. */
const STEPS_APART = 4;

/**
 * A value may differ by half of the last digit the card writes, a time by the step it is written to: then both are the same reading,
 * written with fewer digits.
 */
export function mergeRule({ form }: CardPlan, tally: CardTally): MergeRule {
  const tolerance = new Map<MetricKey, number>();
  for (const { use } of form.columns) {
    if (use.kind !== 'metric') continue;
    const scale = unitScale(use.metric, use.unit);
    const decimals = tally.decimals.get(use.metric);
    if (scale === undefined || decimals === undefined) continue;
    tolerance.set(use.metric, (0.5 * 10 ** -decimals * scale.multiply) / scale.divide);
  }
  const stepMs = usualStepMs(tally) ?? 0;
  const { resolutionMs } = tally;
  const isApart = Number.isFinite(resolutionMs) && stepMs >= STEPS_APART * resolutionMs;
  return { tolerance, timeStepMs: isApart && resolutionMs > 1 ? resolutionMs : 0 };
}

const none: CardCounts = { filled: 0, here: 0, conflicts: 0, repeated: 0 };
const plus = (a: CardCounts, b: CardCounts): CardCounts => ({
  filled: a.filled + b.filled,
  here: a.here + b.here,
  conflicts: a.conflicts + b.conflicts,
  repeated: a.repeated + b.repeated,
});

/** Holds lines spread over the texts against the store: what would become of them, and whether another zone would fit better. */
export async function lookAtStore(
  store: Pick<Store['cardImports'], 'compare'>,
  nodeId: NodeId,
  texts: readonly ReadText[],
): Promise<CardLook> {
  let [looked, expected] = [0, none];
  const doubts: CardDoubt[] = [];
  for (const { plan, tally } of texts) {
    const rule = mergeRule(plan, tally);
    const compare = (samples: readonly Sample[]) => store.compare({ nodeId, samples, ...rule });
    const samples = tally.spread.map(sampleOf);
    looked += samples.length;
    const counts = await compare(samples);
    expected = plus(expected, counts);
    if (tally.wallRows === 0) continue;
    const { zone } = plan.form;
    for (const other of ['UTC', 'Etc/GMT-1'].filter((one) => one !== zone)) {
      const moved = await compare(
        samples.map((sample) => ({
          ...sample,
          observedAtMs: sameWallTime(sample.observedAtMs, zone, other),
        })),
      );
      if (moved.here > 10 && moved.here > 3 * counts.here && moved.conflicts < moved.here / 3)
        doubts.push(
          fitsBetter({ zone, other, name: plan.name }, { here: moved.here, before: counts.here }),
        );
    }
  }
  return { looked, expected, doubts };
}

const sampleOf = ({ atMs, readings }: CardTally['spread'][number]): Sample => ({
  observedAtMs: atMs,
  metrics: readings.map(({ metric }) => metric),
  values: readings.map(({ value }) => value),
  timeQuality: 'synced',
});

const fitsBetter = (
  { zone, other, name }: { readonly zone: string; readonly other: string; readonly name: string },
  { here, before }: { readonly here: number; readonly before: number },
): CardDoubt => ({
  code: 'zone-fits-better',
  sentence: `Read as ${sayZone(other)}, ${here.toLocaleString('en-GB')} readings of the lines looked at in ${name} are the same that came by air; read as ${sayZone(zone)}, ${before.toLocaleString('en-GB')} are. The clock of the node seems to keep ${sayZone(other)}.`,
  settle: {
    setting: 'zone',
    choices: [zone, other].map((value) => ({ value, label: sayZone(value) })),
    chosen: zone,
  },
  examples: [],
  blocking: false,
});

const sayZone = (zone: string): string => (zone === 'Etc/GMT-1' ? 'UTC+1 all year' : zone);

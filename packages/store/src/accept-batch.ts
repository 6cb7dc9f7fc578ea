import { timeQualities, type AcceptedMessage, type MetricKey, type Sample } from '@duskline/domain';
import { arrayLiteral, storableJson } from './array-literal.ts';
import { StoreInputError } from './errors.ts';

/** Samples older than this come from a clock that was never set. */
export const EARLIEST_SAMPLE_MS = Date.UTC(2020, 0, 1);
const LATEST_SAMPLE_MS = Date.UTC(2100, 0, 1);

/** A batch as columns: one array for each, so that the statement has the same text for any size. */
export interface BatchColumns {
  readonly messages: {
    readonly names: readonly string[];
    readonly receivedMs: string;
    readonly heardMs: string;
    readonly live: string;
    readonly boots: string;
    readonly seqs: string;
    readonly words: readonly (string | null)[];
    readonly wordMs: string;
  };
  readonly samples: {
    /** Place of its message, from 1. */
    readonly messages: string;
    readonly observedMs: string;
    readonly layouts: string;
    readonly timeQualities: string;
    readonly saidS: string;
    /** An array of array literals, one for each sample. */
    readonly values: string;
  };
}

/**
 * Turns messages into the columns of the accepting statement.
 *
 * @param layoutIdOf the layout of metrics that were made known before.
 * @throws StoreInputError for a value that is not finite, a time before 2020 or after 2099, or a row
 *   whose metrics and values differ in number.
 */
export function batchColumns(
  messages: readonly AcceptedMessage[],
  layoutIdOf: (metrics: readonly MetricKey[]) => number,
): BatchColumns {
  return {
    messages: {
      names: messages.map((message) => message.node),
      receivedMs: arrayLiteral(messages.map((message) => Math.round(message.receivedAtMs))),
      heardMs: arrayLiteral(messages.map((message) => Math.round(heardAtMs(message)))),
      live: `{${messages.map((message) => (message.lane === 'live' ? 't' : 'f')).join(',')}}`,
      boots: arrayLiteral(messages.map((message) => message.place?.boot ?? null)),
      seqs: arrayLiteral(messages.map((message) => message.place?.seq ?? null)),
      words: messages.map((message) =>
        message.word === undefined ? null : storableJson(message.word),
      ),
      wordMs: arrayLiteral(
        messages.map((message) =>
          message.word === undefined ? null : Math.round(message.word.atMs),
        ),
      ),
    },
    samples: sampleColumns(messages, layoutIdOf),
  };
}

/**
 * When a message shows its node to have been alive. One on the live lane shows it now; the past that is being caught up on,
 * and a word about the past, show it then: else a backlog would hide that the node is silent today.
 */
function heardAtMs({ lane, receivedAtMs, samples, word }: AcceptedMessage): number {
  if (word !== undefined) return Math.min(receivedAtMs, word.atMs);
  if (lane === 'live' || samples.length === 0) return receivedAtMs;
  return Math.min(receivedAtMs, Math.max(...samples.map((sample) => sample.observedAtMs)));
}

function sampleColumns(
  messages: readonly AcceptedMessage[],
  layoutIdOf: (metrics: readonly MetricKey[]) => number,
): BatchColumns['samples'] {
  const places: number[] = [];
  const observedMs: number[] = [];
  const layouts: number[] = [];
  const qualities: (number | null)[] = [];
  const saidS: (number | null)[] = [];
  const values: string[] = [];
  messages.forEach((message, index) => {
    for (const sample of message.samples) {
      requireStorable(sample, message);
      places.push(index + 1);
      observedMs.push(Math.round(sample.observedAtMs));
      layouts.push(layoutIdOf(sample.metrics));
      qualities.push(
        sample.timeQuality === 'synced' ? null : timeQualities.indexOf(sample.timeQuality),
      );
      saidS.push(sample.saidTimeS ?? null);
      values.push(`"${arrayLiteral(sample.values)}"`);
    }
  });
  return {
    messages: arrayLiteral(places),
    observedMs: arrayLiteral(observedMs),
    layouts: arrayLiteral(layouts),
    timeQualities: arrayLiteral(qualities),
    saidS: arrayLiteral(saidS),
    values: `{${values.join(',')}}`,
  };
}

/** @throws StoreInputError as described above */
export function requireStorable(sample: Sample, { node }: { readonly node: string }): void {
  const { observedAtMs, metrics, values } = sample;
  if (!(observedAtMs >= EARLIEST_SAMPLE_MS && observedAtMs < LATEST_SAMPLE_MS))
    throw new StoreInputError(`A sample of ${node} is dated ${observedAtMs}, outside 2020–2099.`);
  if (metrics.length !== values.length || values.length === 0)
    throw new StoreInputError(
      `A sample of ${node} has ${metrics.length} metrics and ${values.length} values.`,
    );
  const wrong = values.findIndex((value) => !Number.isFinite(value));
  if (wrong !== -1)
    throw new StoreInputError(`A sample of ${node} has ${metrics[wrong]} = ${values[wrong]}.`);
}

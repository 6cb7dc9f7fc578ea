import type { CardImport } from '@duskline/store';
import {
  createCardPass,
  createLineCutter,
  LINES_LOOKED_AT,
  newUnpackBudget,
  settledFolds,
  understandCard,
  unpackCard,
  type CardForm,
  type CardPass,
  type CardSettings,
  type CardText,
} from '@duskline/intake';
import type { Sample } from '@duskline/domain';

/** One text as it was understood, and what an earlier pass over it found. */
export interface CardPlan {
  readonly name: string;
  readonly form: CardForm;
  readonly foldsSeen: ReadonlySet<number>;
}

export interface ReadDeps {
  readonly files: readonly {
    readonly path: string;
    readonly name: string;
    readonly bytes: number;
  }[];
  readonly settings: CardSettings;
  readonly siteZone: CardImport['siteZone'];
  readonly nowMs: number;
  readonly signal: AbortSignal;
  /** Lines gone through so far, and the share of the files' bytes. */
  readonly onProgress: (lines: number, ratio: number) => void;
}

export interface ReadText {
  readonly plan: CardPlan;
  readonly tally: CardPass['tally'];
}

/**
 * Goes once through all texts of an import, without keeping them.
 *
 * @param plans what an earlier pass made of the texts; absent: each is understood from its first lines
 * @param onSamples awaited before more is read, so that a slow store holds the reading back
 * @throws CardRefused for files that cannot be used; the signal's reason when it is aborted
 */
export async function readCard(
  deps: ReadDeps,
  {
    plans,
    onSamples = async () => undefined,
  }: {
    readonly plans?: readonly CardPlan[];
    readonly onSamples?: (samples: readonly Sample[], plan: CardPlan) => Promise<void>;
  } = {},
): Promise<readonly ReadText[]> {
  const texts: ReadText[] = [];
  const budget = newUnpackBudget();
  const allBytes = Math.max(
    1,
    deps.files.reduce((sum, { bytes }) => sum + bytes, 0),
  );
  let [doneBytes, lines] = [0, 0];
  for (const file of deps.files) {
    for await (const text of unpackCard(file, budget)) {
      const read = await readText(text, deps, {
        plan: plans?.[texts.length],
        onSamples,
        onLines: (count, bytes) => {
          lines += count;
          // Of packed files the share is a guess: a log packs about ten to one.
          const packed =
            bytes > file.bytes ? file.bytes * (1 - 1 / (1 + bytes / file.bytes / 8)) : bytes;
          deps.onProgress(lines, Math.min(1, (doneBytes + packed) / allBytes));
        },
      });
      if (read !== undefined) texts.push(read);
    }
    doneBytes += file.bytes;
  }
  deps.onProgress(lines, 1);
  return texts;
}

async function readText(
  { name, chunks }: CardText,
  { settings, siteZone, nowMs, signal }: ReadDeps,
  {
    plan,
    onSamples,
    onLines,
  }: {
    readonly plan: CardPlan | undefined;
    readonly onSamples: (samples: readonly Sample[], plan: CardPlan) => Promise<void>;
    readonly onLines: (count: number, bytesSoFar: number) => void;
  },
): Promise<ReadText | undefined> {
  const cutter = createLineCutter();
  let head: string[] | undefined = [];
  let going: { readonly plan: CardPlan; readonly pass: CardPass } | undefined;
  let bytes = 0;

  const begin = (lines: readonly string[]): NonNullable<typeof going> => {
    const known = plan ?? {
      name,
      form: understandCard(lines, settings, { siteZone }),
      foldsSeen: new Set<number>(),
    };
    const { form, foldsSeen } = known;
    return { plan: known, pass: createCardPass({ form, settings, nowMs, foldsSeen }) };
  };
  const take = async (lines: readonly string[]): Promise<void> => {
    going ??= begin(lines);
    const samples: Sample[] = [];
    for (const line of lines) {
      const sample = going.pass.take(line);
      if (sample !== undefined) samples.push(sample);
    }
    onLines(lines.length, bytes);
    if (samples.length > 0) await onSamples(samples, going.plan);
  };

  for await (const chunk of chunks) {
    signal.throwIfAborted();
    bytes += chunk.length;
    const lines = cutter.push(chunk);
    if (head === undefined) {
      await take(lines);
      continue;
    }
    for (const line of lines) head.push(line);
    if (head.length < LINES_LOOKED_AT) continue;
    const first = head;
    head = undefined;
    await take(first);
  }
  const rest = [...(head ?? []), ...cutter.end()];
  if (rest.length > 0) await take(rest);
  return going === undefined ? undefined : { plan: going.plan, tally: going.pass.tally };
}

/** What the second pass goes by: the order of dates that the first one proved, and the repeated hours it settled. */
export function planAfter({ plan, tally }: ReadText, settings: CardSettings): CardPlan {
  const { order } = tally;
  const isOther =
    settings.dateOrder === undefined &&
    (order.monthFirstProved
      ? !order.dayFirstProved
      : !order.dayFirstProved && order.open > 0 && order.otherBackSteps < tally.backSteps);
  const form: CardForm = isOther ? { ...plan.form, dateOrder: 'month-first' } : plan.form;
  return { name: plan.name, form, foldsSeen: settledFolds(tally) };
}

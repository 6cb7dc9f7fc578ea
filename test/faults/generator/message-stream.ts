import type { StreamPlan } from './truth.ts';

/** What a node keeps of one of its streams: which messages there are, which are on their way, which it may forget. */
export interface MessageStream {
  readonly plan: StreamPlan;
  readonly published: () => number;
  /** Was the node told that it may delete this message? */
  readonly isAcknowledged: (seq: number) => boolean;
  readonly acknowledgedCount: () => number;
  readonly settled: () => boolean;
  readonly lineIsUp: () => void;
  readonly lineIsDown: () => void;
  /** All up to and with this one. */
  readonly acknowledgeUpTo: (seq: number) => void;
  /** This one alone: what a PUBACK says. */
  readonly acknowledge: (seq: number) => void;
  readonly add: (count: number) => void;
  /** Of messages that came at their pace: from their making to their acknowledgement. */
  readonly lagsMs: readonly number[];
  /** When a message made at its pace was acknowledged, by its number; only of single acknowledgements. */
  readonly acknowledgedAtMs: ReadonlyMap<number, number>;
  /** Sends what waited too long for its acknowledgement again. */
  readonly look: (nowMs: number) => void;
}

const RESEND_MS = 3000;
const WINDOW = 50;

/** @param send hands a message to the line; what becomes of it comes back by `acknowledge…` or never */
export function createStream(
  plan: StreamPlan,
  deps: { readonly send: (seq: number) => void; readonly chance: () => number },
): MessageStream {
  const { window = WINDOW, disorder } = plan;
  let published = plan.ready;
  const acknowledged = new Set<number>();
  /** All up to this one are. */
  let solidUpTo = 0;
  let sentUpTo = 0;
  let up = false;
  let heardAtMs = Date.now();
  const madeAtMs = new Map<number, number>();
  const lagsMs: number[] = [];
  const acknowledgedAtMs = new Map<number, number>();

  function note(seq: number): void {
    const made = madeAtMs.get(seq);
    if (made === undefined) return;
    madeAtMs.delete(seq);
    lagsMs.push(Date.now() - made);
  }
  function pump(): void {
    while (up) {
      const until = Math.min(published, solidUpTo + window);
      if (sentUpTo >= until) return;
      const block: number[] = [];
      while (sentUpTo < until && block.length < window) {
        sentUpTo += 1;
        if (!acknowledged.has(sentUpTo)) block.push(sentUpTo);
      }
      for (const seq of disturb(block)) deps.send(seq);
    }
  }
  function disturb(block: number[]): readonly number[] {
    if (disorder === undefined) return block;
    for (let i = 0; i < block.length; i++) {
      if (deps.chance() >= disorder.shuffled) continue;
      const other = Math.floor(deps.chance() * block.length);
      [block[i], block[other]] = [block[other] ?? 0, block[i] ?? 0];
    }
    return block.flatMap((seq) => (deps.chance() < disorder.repeated ? [seq, seq] : [seq]));
  }
  function settle(): void {
    while (acknowledged.delete(solidUpTo + 1)) solidUpTo += 1;
    heardAtMs = Date.now();
    sentUpTo = Math.max(sentUpTo, solidUpTo);
    pump();
  }

  return {
    plan,
    published: () => published,
    isAcknowledged: (seq) => seq <= solidUpTo || acknowledged.has(seq),
    acknowledgedCount: () => solidUpTo + acknowledged.size,
    settled: () => solidUpTo >= published,
    lineIsUp() {
      up = true;
      heardAtMs = Date.now();
      sentUpTo = solidUpTo;
      pump();
    },
    lineIsDown() {
      up = false;
    },
    acknowledgeUpTo(seq) {
      if (seq <= solidUpTo) return;
      for (let one = solidUpTo + 1; one <= seq; one++) note(one);
      solidUpTo = Math.min(seq, published);
      settle();
    },
    acknowledge(seq) {
      if (seq <= solidUpTo) return;
      note(seq);
      acknowledgedAtMs.set(seq, Date.now());
      acknowledged.add(seq);
      settle();
    },
    lagsMs,
    acknowledgedAtMs,
    add(count) {
      for (let i = 0; i < count; i++) madeAtMs.set(++published, Date.now());
      pump();
    },
    look(nowMs) {
      if (!up || solidUpTo >= published || nowMs - heardAtMs < RESEND_MS) return;
      heardAtMs = nowMs;
      sentUpTo = solidUpTo;
      pump();
    },
  };
}

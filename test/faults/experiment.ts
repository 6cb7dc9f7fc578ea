import type { Lab } from './lab.ts';

export type Broker = 'embedded' | 'mosquitto';
export type Figures = Readonly<Record<string, number | string>>;

/** `SKIPPED` is never a pass: the line says what the machine lacks. */
export interface Outcome {
  readonly verdict: 'PASS' | 'FAIL' | 'SKIPPED';
  readonly figures: Figures;
  /** It failed, but only by how fast this machine was: nothing was lost, doubled or left standing. */
  readonly isOnlySlow?: boolean;
  /** What was not reached, or what is missing, in words. */
  readonly why: readonly string[];
}

export interface Experiment {
  /** As in the fault plan: `E1`. */
  readonly id: string;
  readonly name: string;
  /** Run once with each; without any it brings what it needs. */
  readonly brokers?: readonly Broker[];
  /** In the short profile only with this one: ten minutes do not hold everything twice. */
  readonly shortBroker?: Broker;
  /** See `Turn`. */
  readonly place?: 'waits' | 'calm' | 'alone';
  readonly run: (lab: Lab, broker: Broker) => Promise<Outcome>;
}

export const skipped = (why: string): Outcome => ({ verdict: 'SKIPPED', figures: {}, why: [why] });

/** One figure to reach; `reached` false makes the experiment fail and puts `what` on its line. */
export interface Claim {
  readonly what: string;
  readonly reached: boolean;
  /** A time or a rate: missed on a busy machine it says nothing of the program's care. */
  readonly isPace?: boolean;
}

/** PASS when every claim was reached. */
export function judge(figures: Figures, claims: readonly Claim[]): Outcome {
  const missed = claims.filter(({ reached }) => !reached);
  const why = missed.map(({ what }) => what);
  if (missed.length === 0) return { verdict: 'PASS', figures, why };
  return {
    verdict: 'FAIL',
    figures,
    why,
    isOnlySlow: missed.every(({ isPace }) => isPace === true),
  };
}

/** The states of a node. Every state has one word, shown on every screen as word + shape + colour. */
export const nodeStates = [
  'up',
  'low',
  'dark-as-designed',
  'overdue',
  'silent-unexplained',
  'link-down',
  'off-for-work',
  'not-yet-proved',
  'retired',
] as const;
export type NodeState = (typeof nodeStates)[number];

/** The word people read. */
export const nodeStateWord: Readonly<Record<NodeState, string>> = {
  up: 'up',
  low: 'low',
  'dark-as-designed': 'dark as designed',
  overdue: 'overdue',
  'silent-unexplained': 'silent, unexplained',
  'link-down': 'link down',
  'off-for-work': 'off for work',
  'not-yet-proved': 'not yet proved',
  retired: 'retired',
};

/** The state of one node now, with the reason in a sentence and what will settle it. */
export interface StateVerdict {
  readonly state: NodeState;
  readonly sinceMs: number;
  /** Why, in one sentence with figures. */
  readonly cause: string;
  /** What still holds of it once it is over, in the past tense; left out: `cause` does. */
  readonly afterwards?: string;
  /** What will settle it, where that is not plain. */
  readonly settledBy?: string;
  /** Evidence in sentences, the strongest first. */
  readonly evidence: readonly string[];
}
